"""Key signatures under which most notes need an accidental."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.checks._names import top_part
from mockcheck.checks._registry import score_check
from mockcheck.checks._spelled import major_and_minor, signature_name
from mockcheck.model.finding import Evidence, Observation, Severity
from mockcheck.model.played import PlayedPart
from mockcheck.model.spelled import SpellingColumns, sounds_in_key
from mockcheck.params import Params, quantity


class KeySignatureFightsTheNotes(Params):
    """Limits of the check."""

    least_notes: float = quantity(
        48,
        unit="notes",
        low=8,
        high=10000,
        meaning="fewer under a signature say nothing",
    )
    accidentals_from: float = quantity(
        30,
        unit="accidentals in 100 notes",
        low=1,
        high=100,
        meaning="more than this under the written signature, and it is badly read",
        source="measured: 9 in 100 notes of published quartets are foreign to their signature",
    )
    better_by: float = quantity(
        2,
        unit="times fewer accidentals",
        low=1,
        high=20,
        meaning="another signature must save at least so many",
    )


@score_check(
    id="key-signature-fights-the-notes",
    family="reading",
    severity=Severity.AWKWARD,
    title="The file's key signature does not suit the notes under it.",
    params=KeySignatureFightsTheNotes,
)
def find(
    parts: tuple[PlayedPart, ...], p: KeySignatureFightsTheNotes
) -> Iterator[tuple[PlayedPart, Observation]]:
    """Find a key signature that is not that of the music.

    Why a player minds: a sequencer writes C major unless told otherwise, and an import prints it;
    every note then carries its own accidental, and a page black with them is read slowly.
    Measured: notes of all parts that need an accidental under the file's signature, and under the
    key that they suit; only where the notes speak clearly against the signature. Reported once for
    the file.
    Fine when: the parts are printed without a key signature on purpose, as film scores often are.
    Source: key areas after C. Krumhansl (1990) and D. Temperley (2001); limits measured on
    published quartets.
    """
    fighting = [side for part in parts if (side := _fighting(part)) is not None]
    notes = sum(len(side.rows) for side in fighting)
    if notes < p.least_notes:
        return
    written, better = (
        100 * sum(side.accidentals(is_written=is_written) for side in fighting) / notes
        for is_written in (True, False)
    )
    if better * p.better_by <= written:
        top = top_part([side.part for side in fighting])
        side = next(side for side in fighting if side.part is top)
        yield top, _observe(side, (written, better), p)


@dataclass(frozen=True)
class _Fighting:
    """Notes of a part that stand under a signature of the file which the notes speak against."""

    part: PlayedPart
    spelling: SpellingColumns
    rows: NDArray[np.int64]

    def accidentals(self, *, is_written: bool) -> int:
        """How many of them need one, under the signature as written or that of the key heard."""
        key = self.spelling.signature_fifths if is_written else self.spelling.key_fifths
        pitch = self.part.notes.pitch[self.rows].astype(np.int64)
        return int((~sounds_in_key(pitch, key[self.rows].astype(np.int64))).sum())


def _fighting(part: PlayedPart) -> _Fighting | None:
    """None where no note of the part speaks against a signature."""
    if part.spelling is None:
        return None
    differs = part.spelling.key_fifths != part.spelling.signature_fifths
    rows = np.flatnonzero(part.spelling.has_signature & differs)
    return _Fighting(part, part.spelling, rows) if len(rows) else None


def _observe(
    side: _Fighting, accidentals: tuple[float, float], p: KeySignatureFightsTheNotes
) -> Observation:
    spelling, rows = side.spelling, side.rows
    written, better = accidentals
    signature = int(spelling.signature_fifths[rows[0]])
    keys, counts = np.unique(spelling.key_fifths[rows], return_counts=True)
    key = int(keys[counts.argmax()])
    return Observation(
        note_indices=tuple(rows.tolist()),
        message=(
            f"The file says {signature_name(signature)}, and {written:.0f} in 100 notes of all"
            f" parts need an accidental under it; the notes suit {signature_name(key)}"
            f" ({major_and_minor(key)}), which needs {better:.0f}."
        ),
        suggestion=(
            f"Set the key signature to {signature_name(key)} before the parts are printed, or tell"
            " whoever writes them that they are to be without one."
        ),
        evidence=(
            Evidence("accidentals as written", round(written, 1), p.accidentals_from, "in 100"),
            Evidence(
                "accidentals in the key heard", round(better, 1), p.accidentals_from, "in 100"
            ),
        ),
        severity=None if written > p.accidentals_from else Severity.REMARK,
    )
