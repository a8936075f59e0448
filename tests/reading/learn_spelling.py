"""Counts how published quartets are spelled, and writes what mockcheck/infer/spelling.py reads.

`MOCKCHECK_QUARTETS=FOLDER python -m tests.reading.learn_spelling` counts half of the composers of
the open quartets (CC0) and prints how the others, and the music21 corpus, come out.
"""

from __future__ import annotations

import csv
import json
import os
import sys
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.spelling import (
    CENTRE_STEPS_PER_FIFTH,
    FARTHEST_FIFTHS,
    TURNS,
    WIDEST_LEAP_SEMITONES,
    above_centre,
    spell,
    tonal_centres,
    turns,
)
from tests.reading.printed_spelling import SpelledWork, music21_works, open_works

ROOT = Path(__file__).parent.parent.parent
COUNTS = ROOT / "mockcheck" / "infer" / "spelling_counts.json"
_KEY_REACH = 5
"""Places above the tonic of the signature's major key that its own notes reach; -1 below."""


def halves() -> tuple[list[SpelledWork], list[SpelledWork]]:
    """Open quartets to learn from and to report, no composer in both: every second composer."""
    folder = Path(os.environ["MOCKCHECK_QUARTETS"])
    with (folder / "INDEX.csv").open(encoding="utf-8", newline="") as lines:
        composer_of = {
            row["file"].removesuffix(".mid"): row["work"].split("/")[0]
            for row in csv.DictReader(lines)
        }
    works = [replace(work, composer=composer_of[work.name]) for work in open_works()]
    composers = sorted({work.composer for work in works})
    learnt = set(composers[::2])
    return (
        [work for work in works if work.composer in learnt],
        [work for work in works if work.composer not in learnt],
    )


def count(works: Sequence[SpelledWork]) -> dict[str, list[object]]:
    """The four tables of `spelling.tables_from_counts`, as whole numbers."""
    width = 2 * FARTHEST_FIFTHS + 1
    key = np.zeros(width, np.int64)
    centre = np.zeros(2 * CENTRE_STEPS_PER_FIFTH * FARTHEST_FIFTHS + 1, np.int64)
    leaps = np.zeros((2, 2 * WIDEST_LEAP_SEMITONES + 1, width), np.int64)
    key_turn, centre_turn = np.zeros((2, TURNS, width), np.int64)
    for work in works:
        centres = tonal_centres(work.lines, work.printed)
        for line, printed, middle in zip(work.lines, work.printed, centres, strict=True):
            turn = turns(line.pitch)
            above = _row(above_centre(printed, middle), FARTHEST_FIFTHS)
            np.add.at(centre_turn, (turn, above), 1)
            if line.key_fifths is not None:
                above = _row(printed - line.key_fifths, FARTHEST_FIFTHS)
                np.add.at(key, above, 1)
                np.add.at(key_turn, (turn, above), 1)
            away = np.round(CENTRE_STEPS_PER_FIFTH * (printed - middle)).astype(np.int64)
            np.add.at(centre, _row(away, CENTRE_STEPS_PER_FIFTH * FARTHEST_FIFTHS), 1)
            for back in (1, 2):
                leap = _row(line.pitch[back:] - line.pitch[:-back], WIDEST_LEAP_SEMITONES)
                places = _row(printed[back:] - printed[:-back], FARTHEST_FIFTHS)
                np.add.at(leaps[back - 1], (leap, places), 1)
    return {
        "key": key.tolist(),
        "centre": centre.tolist(),
        "step": leaps[0].tolist(),
        "skip": leaps[1].tolist(),
        "key_turn": key_turn.tolist(),
        "centre_turn": centre_turn.tolist(),
    }


def _row(value: NDArray[np.int64], farthest: int) -> NDArray[np.int64]:
    return np.clip(value, -farthest, farthest) + farthest


def right_shares(works: Sequence[SpelledWork], *, with_keys: bool) -> tuple[float, float]:
    """Share of notes spelled as printed, and of those foreign to the signature, 0-1."""
    right = notes = right_foreign = foreign = 0
    for work in works:
        lines = work.lines if with_keys else [replace(x, key_fifths=None) for x in work.lines]
        for line, printed, spelled in zip(work.lines, work.printed, spell(lines), strict=True):
            is_right = spelled == printed
            right, notes = right + int(is_right.sum()), notes + len(printed)
            assert line.key_fifths is not None
            above = printed - line.key_fifths
            is_foreign = (above > _KEY_REACH) | (above < -1)
            right_foreign += int((is_right & is_foreign).sum())
            foreign += int(is_foreign.sum())
    return right / max(notes, 1), right_foreign / max(foreign, 1)


def main() -> None:
    """Count, write, report."""
    learnt, reported = halves()
    counts = count(learnt)
    entries = [f"{json.dumps(name)}: {json.dumps(rows)}" for name, rows in counts.items()]
    COUNTS.write_text("{\n" + ",\n".join(entries) + "\n}\n", encoding="utf-8")
    sets = {"learnt": learnt, "reported": reported, "music21 corpus": music21_works()}
    for name, works in sets.items():
        for with_keys in (True, False):
            right, foreign = right_shares(works, with_keys=with_keys)
            keys = "with" if with_keys else "without"
            sys.stdout.write(
                f"{name}, {keys} key signatures: {sum(work.notes for work in works):,} notes,"
                f" {right:.2%} as printed, {foreign:.2%} of those foreign to the key\n"
            )


if __name__ == "__main__":
    main()
