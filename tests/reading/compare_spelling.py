"""Our spelling beside two plainer ways, on the same parts.

`MOCKCHECK_QUARTETS=FOLDER python -m tests.reading.compare_spelling` prints, for the half of the
open quartets that nothing was counted in and for the music21 corpus: notes spelled as the edition
does, notes foreign to the key spelled so, and augmented or diminished steps between neighbours that
the edition does not have. ps13 (D. Meredith, 2006) is partitura's, as called, each part alone.
"""

from __future__ import annotations

import importlib.util
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.easy_spelling import awkward_steps
from mockcheck.infer.spelled_parts import as_imported
from mockcheck.infer.spelling import LineToSpell, spell
from mockcheck.model.spelled import is_in_key
from tests.reading.learn_spelling import halves
from tests.reading.printed_spelling import SpelledWork, fifths_of, music21_works

Speller = Callable[[Sequence[LineToSpell]], list[NDArray[np.int64]]]


@dataclass(frozen=True)
class SpellingScore:
    """How many notes come out as printed, and what reads worse than printed."""

    notes: int
    right: int
    foreign: int
    foreign_right: int
    added_steps: int

    def __str__(self) -> str:
        return (
            f"{self.right / self.notes:.2%} of {self.notes:,} notes,"
            f" {self.foreign_right / self.foreign:.2%} of {self.foreign:,} foreign ones,"
            f" {1000 * self.added_steps / self.notes:.2f} added augmented or diminished steps in"
            " 1,000 notes"
        )


def score(works: Sequence[SpelledWork], speller: Speller) -> SpellingScore:
    """Count over all parts of some works."""
    totals = np.zeros(5, np.int64)
    for work in works:
        for line, printed, ours in zip(work.lines, work.printed, speller(work.lines), strict=True):
            assert line.key_fifths is not None
            is_right, is_foreign = ours == printed, ~is_in_key(printed, line.key_fifths)
            added = awkward_steps(line.pitch, ours) & ~awkward_steps(line.pitch, printed)
            masks = (np.ones(len(ours)), is_right, is_foreign, is_right & is_foreign, added)
            totals += [int(mask.sum()) for mask in masks]
    return SpellingScore(*totals.tolist())


def without_keys(lines: Sequence[LineToSpell]) -> list[NDArray[np.int64]]:
    """Ours, when the file gives no signature."""
    return spell([replace(line, key_fifths=None) for line in lines])


def by_key_only(lines: Sequence[LineToSpell]) -> list[NDArray[np.int64]]:
    """The twelve places about the signature, whatever the music does."""
    return [
        as_imported(line.pitch, line.key_fifths) for line in lines if line.key_fifths is not None
    ]


def by_ps13(lines: Sequence[LineToSpell]) -> list[NDArray[np.int64]]:
    """Partitura's ps13, each part alone."""
    from partitura.musicanalysis import estimate_spelling

    spelled = []
    for line in lines:
        kinds = [("onset_beat", "f4"), ("duration_beat", "f4"), ("pitch", "i4"), ("voice", "i4")]
        notes: NDArray[Any] = np.zeros(len(line.pitch), kinds)
        notes["onset_beat"], notes["pitch"], notes["duration_beat"] = line.quarters, line.pitch, 0.5
        found = estimate_spelling(notes)
        places = [fifths_of(f"{row['step']}4") + 7 * int(row["alter"]) for row in found]
        spelled.append(np.array(places, np.int64))
    return spelled


def has_partitura() -> bool:
    return importlib.util.find_spec("partitura") is not None


def main() -> None:
    """Print the comparison."""
    ways: dict[str, Speller] = {
        "ours, with key signatures": spell,
        "ours, without": without_keys,
        "key signature only": by_key_only,
    }
    if has_partitura():
        ways["partitura's ps13"] = by_ps13
    for name, works in {"open quartets, reported": halves()[1], "music21": music21_works()}.items():
        for way, speller in ways.items():
            sys.stdout.write(f"{name}: {way}: {score(works, speller)}\n")


if __name__ == "__main__":
    main()
