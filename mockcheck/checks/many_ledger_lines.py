"""Long passages far above or below the staff in the clef an import would use."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.checks._levels import instrument_family
from mockcheck.checks._registry import check
from mockcheck.model.columns import stretches
from mockcheck.model.finding import Evidence, Observation, Severity
from mockcheck.model.played import PlayedPart
from mockcheck.model.spelled import staff_steps
from mockcheck.params import Params, quantity


class ManyLedgerLines(Params):
    """Limits of the check."""

    ledger_lines: float = quantity(
        4,
        unit="ledger lines",
        low=1,
        high=10,
        meaning="more than this many are counted, not read",
        source="common practice: readers and engravers change clef or write an octave sign there",
    )
    lasts_s: float = quantity(
        4,
        unit="s",
        low=0.5,
        high=60,
        meaning="a shorter stay up there is a summit, and read as one",
    )
    least_notes: float = quantity(8, unit="notes", low=1, high=100, meaning="so does a short one")


@dataclass(frozen=True)
class _Clef:
    """A clef: what it is called, and the staff steps of its lowest and highest line."""

    name: str
    bottom: int
    top: int


_CLEFS = {
    "violin": _Clef("treble clef", 37, 45),
    "viola": _Clef("alto clef", 31, 39),
    "cello": _Clef("bass clef", 25, 33),
    "double bass": _Clef("bass clef", 25, 33),
}
"""Staff steps: middle C stands on 35. A double bass reads an octave above what sounds."""
_CURES = {
    "violin": "write an octave sign over it",
    "viola": "change to the treble clef for it",
    "cello": "change to the tenor clef for it, or to the treble clef where that is still too low",
    "double bass": "change to the tenor or the treble clef for it",
}
_OCTAVE_STEPS = 7


@check(
    id="many-ledger-lines",
    family="reading",
    severity=Severity.REMARK,
    title="A long passage stands on many ledger lines.",
    params=ManyLedgerLines,
)
def find(part: PlayedPart, p: ManyLedgerLines) -> Iterator[Observation]:
    """Find passages that want another clef or an octave sign.

    Why a player minds: up to three or four ledger lines are seen at once; above that they are
    counted. An import keeps one clef to the end, whatever the cello does.
    Measured: notes one after the other that need more ledger lines than the limit, in the
    instrument's first clef, and how long that lasts. Reported once for the part, at the longest.
    Fine when: whoever writes out the parts sets clefs by hand.
    Source: clefs of viola, cello and double bass: common practice; the limit as well.
    """
    clef = _CLEFS.get(instrument_family(part))
    if clef is None or part.spelling is None or not len(part.notes):
        return
    lines = _ledger_lines(part, part.spelling.fifths, clef)
    onset_s, release_s = part.notes.onset_s, part.notes.release_s
    found = [
        (float(release_s[first:after].max() - onset_s[first]), first, after)
        for first, after in stretches(np.abs(lines) > p.ledger_lines)
        if after - first >= p.least_notes
    ]
    found = [passage for passage in found if passage[0] >= p.lasts_s]
    if found:
        yield _observe(part, clef, lines, found, p)


def _ledger_lines(part: PlayedPart, fifths: NDArray[np.int8], clef: _Clef) -> NDArray[np.int64]:
    """Ledger lines of each note, below 0 where they are under the staff."""
    steps = staff_steps(part.notes.pitch.astype(np.int64), fifths.astype(np.int64))
    if instrument_family(part) == "double bass":
        steps = steps + _OCTAVE_STEPS
    above, below = np.maximum(steps - clef.top, 0), np.maximum(clef.bottom - steps, 0)
    lines: NDArray[np.int64] = above // 2 - below // 2
    return lines


def _observe(
    part: PlayedPart,
    clef: _Clef,
    lines: NDArray[np.int64],
    found: list[tuple[float, int, int]],
    p: ManyLedgerLines,
) -> Observation:
    lasts_s, first, after = max(found)
    most = int(np.abs(lines[first:after]).max())
    others = f", the longest of {len(found)} such passages" if len(found) > 1 else ""
    cure = _CURES[instrument_family(part)]
    return Observation(
        note_indices=tuple(range(first, after)),
        message=(
            f"{after - first} notes need up to {most} ledger lines in the {clef.name}, for"
            f" {lasts_s:.0f} s{others}; an import keeps the clef."
        ),
        suggestion=f"Have whoever writes the part {cure}, or bring the passage down an octave.",
        evidence=(
            Evidence("ledger lines", most, p.ledger_lines, "lines"),
            Evidence("lasts", round(lasts_s, 1), p.lasts_s, "s"),
        ),
    )
