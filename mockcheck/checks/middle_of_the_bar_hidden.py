"""Notes that begin off the beat and sound across the middle of a bar in four."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby

import numpy as np
from numpy.typing import NDArray

from mockcheck.checks._registry import check
from mockcheck.checks._written import rhythm_confidence
from mockcheck.model.finding import Evidence, Observation, Severity
from mockcheck.model.played import PlayedPart
from mockcheck.model.written import WrittenRhythm
from mockcheck.params import Params, quantity

_BEATS = 4


class MiddleOfTheBarHidden(Params):
    """Limits of the check."""

    least_after: float = quantity(
        0.4,
        unit="beats",
        low=0.1,
        high=2,
        meaning="a note that sounds on for less after the middle of the bar only touches it",
    )
    most_standard: float = quantity(
        1,
        unit="beats",
        low=0.5,
        high=2,
        meaning="notes up to this long that begin on a half beat are a syncopation everybody knows",
    )
    bars_apart: float = quantity(
        4, unit="bars", low=1, high=32, meaning="what is nearer is said once"
    )


@check(
    id="middle-of-the-bar-hidden",
    family="reading",
    severity=Severity.REMARK,
    title="A note that begins off the beat hides the middle of the bar.",
    params=MiddleOfTheBarHidden,
    needs_strings=False,
)
def find(part: PlayedPart, p: MiddleOfTheBarHidden) -> Iterator[Observation]:
    """Find notes in bars of four that should be tied across beat three.

    Why a player minds: the eye looks for beat three; where it is inside a note that began off the
    beat, and ends off it, the rest of the bar is guessed.
    Measured: in bars of four quarters, notes of a line that begin off the beat and sound across
    beat three, with nothing of the part beginning there, and after which the line goes on off the
    beat. Left out: syncopations from half beat to half beat of a quarter.
    Fine when: the note is printed as two, tied at beat three; a notation program may do that on its
    own.
    Source: notation practice of showing the middle of the bar, after G. Read, Music Notation, and
    E. Gould, Behind Bars (from memory).
    """
    written = part.written
    if written is None or not len(part.notes):
        return
    rows = _hiding(part, written, p)
    bars = written.grid.bar_index[written.onsets.beat[rows]]
    gap = np.cumsum(np.diff(bars, prepend=bars[:1]) > p.bars_apart)
    for _, group in groupby(range(len(rows)), key=lambda place: int(gap[place])):
        places = list(group)
        among = len(set(bars[places].tolist()))
        where = "this bar" if among == 1 else f"{among} bars here"
        begins = str(written.position(int(rows[places[0]])))
        yield Observation(
            note_indices=tuple(rows[places].tolist()),
            message=(
                f"In {where} a note begins off the beat ({begins} past it), sounds across beat"
                " three and ends off the beat: the middle of the bar cannot be seen."
            ),
            suggestion="Print it as two notes tied at beat three, or begin it on a beat.",
            evidence=(Evidence("notes across beat three", len(places), 0, "notes"),),
            confidence=rhythm_confidence(written),
        )


def _hiding(part: PlayedPart, written: WrittenRhythm, p: MiddleOfTheBarHidden) -> NDArray[np.int64]:
    """Notes that hide beat three, in time order."""
    onsets, grid = written.onsets, written.grid
    middle = _middle_beat(part, written)[onsets.beat]
    share = onsets.numerator / onsets.denominator
    begins = onsets.beat + share
    lasts = _beats_to_next(part, written, begins)
    is_hiding = (middle >= 0) & (share > 0) & (begins < middle) & (onsets.kind == 0)
    is_hiding &= begins + lasts >= middle + p.least_after
    is_standard = (onsets.denominator == 2) & (lasts <= p.most_standard + 1e-6)
    ends_off = np.abs(begins + lasts - np.rint(begins + lasts)) > 0.05
    is_hiding &= ~is_standard & ends_off
    struck = np.zeros(len(grid) + 1, np.bool_)
    struck[onsets.beat[share == 0]] = True
    return np.flatnonzero(is_hiding & ~struck[middle])


def _middle_beat(part: PlayedPart, written: WrittenRhythm) -> NDArray[np.int64]:
    """Beat of the grid at the middle of each beat's bar, -1 in bars that are not four quarters."""
    grid, meter = written.grid, part.timeline.meter
    assert meter is not None, "a written rhythm has bars"
    first = np.searchsorted(grid.bar_index, grid.bar_index)
    after = np.searchsorted(grid.bar_index, grid.bar_index, side="right")
    is_four = (after - first == _BEATS) & ~grid.is_compound & (grid.cut[after - 1] == 1)
    is_four &= grid.unit_ticks == meter.ticks_per_quarter
    return np.where(is_four, first + _BEATS // 2, -1)


def _beats_to_next(
    part: PlayedPart, written: WrittenRhythm, begins: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Written length, beats: to the next place of the line, or as long as a note is held before."""
    grid, beat = written.grid, written.onsets.beat
    held = (part.notes.release_ticks - part.notes.onset_ticks) / grid.unit_ticks[beat]
    next_place = np.full(len(begins), np.inf)
    for voice in np.unique(written.voice).tolist():
        rows = np.flatnonzero(written.voice == voice)
        later, back = np.unique(begins[rows], return_inverse=True)
        next_place[rows] = np.append(later[1:], np.inf)[back]
    to_next = next_place - begins
    # Players hold a note to the next; only a real rest ends it before.
    return np.where(held >= 0.6 * to_next, to_next, held)
