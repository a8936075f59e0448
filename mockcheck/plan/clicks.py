"""The click of a few bars, with the bars that are counted before them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.beat_grid import find_beats
from mockcheck.model.columns import freeze_columns
from mockcheck.model.time import MeterMap, Timeline

COUNT_IN_BARS = 2
"""Common practice, no source."""


@dataclass(frozen=True)
class Clicks:
    """Every beat of some bars and of the count-in before them; columns of shape (beats,).

    Parameters
    ----------
    ticks
        From the first beat of the count-in, rising; ticks as long as in the file.
    unit_ticks
        How long the beat would be in full: a quarter, a dotted quarter under 6/8.
    is_accent
        True on the first beat of a bar; a pick-up has none.
    parts
        Into how many it divides when the click is subdivided.
    count_in_ticks
        Where the bars themselves begin.
    numerator, denominator
        Signature of the count-in.
    """

    ticks: NDArray[np.int64]
    unit_ticks: NDArray[np.float64]
    is_accent: NDArray[np.bool_]
    parts: NDArray[np.int64]
    count_in_ticks: int
    numerator: int
    denominator: int

    def __post_init__(self) -> None:
        freeze_columns(self)

    def subdivided(self, end_ticks: int) -> NDArray[np.int64]:
        """Ticks between the beats up to an end: the halves, or thirds where a beat has three."""
        between: list[int] = []
        after = np.append(self.ticks[1:], end_ticks)
        for tick, following, unit, parts in zip(
            self.ticks, after, self.unit_ticks, self.parts, strict=True
        ):
            steps = [round(int(tick) + float(unit) * k / int(parts)) for k in range(1, int(parts))]
            between += [step for step in steps if step < following]
        return np.array(between, np.int64)


def clicks_of(timeline: Timeline, first_bar_index: int, last_bar_index: int) -> Clicks:
    """Two bars of count-in and every beat of some bars.

    Parameters
    ----------
    timeline
        With bars.
    first_bar_index, last_bar_index
        From 0, both included.

    Returns
    -------
    Beats as `infer.beat_grid` has them: three quavers under 6/8, quavers under 5/8, else quarters.
    The count-in has the metre of the first bar. Where that is the pick-up that opens a file, two
    bars of the metre it leads into are counted, and it stands at their end.

    Not modelled: beats felt in halves; how a bar of five or seven is grouped.
    """
    meter = timeline.meter
    assert meter is not None
    edges = meter.bar_start(np.array([first_bar_index, first_bar_index + 1, last_bar_index + 1]))
    start, second, end = (int(tick) for tick in edges)
    grid = find_beats(timeline, end)
    assert grid is not None
    rows = np.flatnonzero((np.rint(grid.ticks) >= start) & (np.rint(grid.ticks) < end))
    following = _signature_at(meter, second)
    is_pick_up = first_bar_index == 0 and second - start < float(meter.bar_ticks[following])
    counted = following if is_pick_up else _signature_at(meter, start)
    bar_ticks = float(meter.bar_ticks[counted])
    unit, parts = _beat_under(timeline, meter, counted)
    length = round(COUNT_IN_BARS * bar_ticks) - (second - start if is_pick_up else 0)
    per_bar = max(round(bar_ticks / unit), 1)
    before = np.concatenate(
        [bar * bar_ticks + unit * np.arange(per_bar) for bar in range(COUNT_IN_BARS)]
    )
    before = np.rint(before[before < length]).astype(np.int64)
    own = np.rint(grid.ticks[rows]).astype(np.int64)
    starts = meter.bar_start(grid.bar_index[rows])
    accents = (own == starts) & ~((own == start) & is_pick_up)
    return Clicks(
        ticks=np.concatenate([before, own - start + length]),
        unit_ticks=np.concatenate([np.full(len(before), unit), grid.unit_ticks[rows]]),
        is_accent=np.concatenate([np.isin(before, np.rint([0, bar_ticks])), accents]),
        parts=np.concatenate(
            [np.full(len(before), parts), np.where(grid.is_compound[rows], 3, 2)]
        ).astype(np.int64),
        count_in_ticks=length,
        numerator=int(meter.numerators[counted]),
        denominator=int(meter.denominators[counted]),
    )


def _signature_at(meter: MeterMap, tick: int) -> int:
    return max(int(np.searchsorted(meter.ticks, tick, side="right")) - 1, 0)


def _beat_under(timeline: Timeline, meter: MeterMap, signature: int) -> tuple[float, int]:
    """Length in ticks of the beat felt under a signature, and into how many it divides."""
    alone = MeterMap(
        np.zeros(1, np.int64),
        meter.numerators[signature : signature + 1].copy(),
        meter.denominators[signature : signature + 1].copy(),
        meter.ticks_per_quarter,
    )
    grid = find_beats(Timeline(timeline.tempo, alone), 1)
    assert grid is not None
    return float(grid.unit_ticks[0]), 3 if grid.is_compound[0] else 2
