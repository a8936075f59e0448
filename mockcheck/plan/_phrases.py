"""Whole phrases around a few bars of one part: players begin after a rest, not in mid-air."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mockcheck.model.played import PlayedPart
from mockcheck.model.time import MeterMap

_AT_BAR_LINE_TICKS = 0.25
"""Share of a quarter around a bar line within which an onset may be meant for the other bar."""


def bars_of_notes(part: PlayedPart, meter: MeterMap) -> NDArray[np.int64]:
    """Bar, from 0, that each note is meant for, shape (n,); one played early counts as on time."""
    ticks = part.notes.onset_ticks
    bars = meter.bar_index(ticks)
    reach = _AT_BAR_LINE_TICKS * meter.ticks_per_quarter
    near = np.flatnonzero(meter.bar_start(bars + 1) - ticks <= reach)
    for note in near.tolist():
        meant = part.timeline.locate_onset(int(ticks[note])).bar
        bars[note] = bars[note] if meant is None else meant - 1
    return bars


class Phrases:
    """Where one part breathes: bars in which a phrase may begin or end."""

    def __init__(self, part: PlayedPart, meter: MeterMap, breath_beats: float) -> None:
        bars = bars_of_notes(part, meter)
        onsets, first = np.unique(part.notes.onset_ticks, return_index=True)
        is_after = np.diff(onsets, prepend=-np.inf) >= breath_beats * meter.ticks_per_quarter
        self._bars = bars[first]
        self._begins = np.flatnonzero(is_after)
        self._ends = np.append(self._begins[1:] - 1, len(onsets) - 1)

    def around(self, first: int, last: int, reach: int, low: int, high: int) -> tuple[int, int]:
        """Bars from the breath before to the breath after, where they lie within `reach` bars.

        Parameters
        ----------
        first, last
            Bars that must be in, from 0.
        low, high
            First and last bar that may be in.
        """
        inside = np.flatnonzero((self._bars >= first) & (self._bars <= last))
        if not len(inside):
            return first, last
        phrase = int(np.searchsorted(self._begins, inside[0], side="right")) - 1
        begin = int(self._bars[self._begins[phrase]])
        phrase = int(np.searchsorted(self._ends, inside[-1]))
        end = int(self._bars[self._ends[phrase]])
        return (
            begin if max(low, first - reach) <= begin <= first else first,
            end if last <= end <= min(high, last + reach) else last,
        )
