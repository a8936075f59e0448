"""A piece cut into columns of bars, and what happens in each: the numbers behind every plot.

Only bars that hold music are ever computed, and a plot has at most a few hundred columns, so a
stray note in bar one million costs nothing.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.model.played import PlayedPart
from mockcheck.model.time import Timeline

MOST_COLUMNS = 400
_MOST_TICKS = 16
_TICK_STEPS = (1, 2, 5)


@dataclass(frozen=True)
class Axis:
    """The time axis that all plots of a review share.

    Parameters
    ----------
    unit
        'bar', or 'second' where the file counts frames. Both are called cells here.
    first, after
        Left edge of the first cell and right edge of the last: bar 12 lies from 12 to 13.
    cells_per_column
        Bars or seconds drawn as one column, at least 1.
    """

    unit: str
    first: int
    after: int
    cells_per_column: int

    @property
    def column_label(self) -> str:
        """'bar', or '3 bars' where several share a column."""
        count = self.cells_per_column
        return self.unit if count == 1 else f"{count} {self.unit}s"

    def ticks(self) -> tuple[int, ...]:
        """The first cell and then round numbers, about a dozen in all."""
        step = _round_step((self.after - self.first) / _MOST_TICKS)
        rest = range(math.floor(self.first / step) * step + step, self.after, step)
        crowded = self.first + 0.7 * step
        return (self.first, *(tick for tick in rest if tick > crowded))

    def positions(self, timeline: Timeline, ticks: NDArray[np.int64]) -> NDArray[np.float64]:
        """Where MIDI ticks lie on the axis: 12.5 is the middle of bar 12."""
        if timeline.meter is None:
            return timeline.tempo.seconds_at(ticks)
        bars = timeline.meter.bar_index(ticks)
        start = timeline.meter.bar_start(bars)
        length = np.maximum(timeline.meter.bar_start(bars + 1) - start, 1)
        past: NDArray[np.float64] = np.clip((ticks - start) / length, 0.0, 1.0)
        return bars + 1 + past

    def position(self, timeline: Timeline, tick: int) -> float:
        """Where one MIDI tick lies on the axis."""
        return float(self.positions(timeline, np.array([tick], np.int64))[0])

    def column_of(self, positions: NDArray[np.float64]) -> NDArray[np.int64]:
        """The column, from 0, that each place on the axis falls into."""
        cells = np.floor(positions).astype(np.int64) - self.first
        last = (self.after - self.first - 1) // self.cells_per_column
        return np.clip(cells // self.cells_per_column, 0, last)

    def edges(self, column: int) -> tuple[float, float]:
        """Left and right edge of a column, from 0."""
        left = self.first + column * self.cells_per_column
        return float(left), float(min(left + self.cells_per_column, self.after))


def _round_step(least: float) -> int:
    """The smallest of 1, 2, 5, 10, 20, 50 ... that is not below `least`."""
    power = 1
    while power * 10 < least:
        power *= 10
    return next(step * power for step in (*_TICK_STEPS, 10) if step * power >= least)


def axis_for(parts: Sequence[PlayedPart]) -> Axis:
    """The axis from the beginning to the last note of any part."""
    has_bars = all(part.timeline.meter is not None for part in parts)
    first = 1 if has_bars else 0
    after = first + 1
    for part in parts:
        if not len(part.notes):
            continue
        end = int(part.notes.release_ticks.max())
        if part.timeline.meter is None:
            after = max(after, math.ceil(part.timeline.tempo.second_at(end)))
        else:
            last = part.timeline.meter.bar_index(np.array([max(end - 1, 0)], np.int64))
            after = max(after, int(last[0]) + 2)
    per_column = math.ceil((after - first) / MOST_COLUMNS)
    return Axis("bar" if has_bars else "second", first, after, per_column)


@dataclass(frozen=True)
class Column:
    """A value over a stretch of the axis."""

    left: float
    right: float
    value: float


@dataclass(frozen=True)
class PitchColumn:
    """The lowest and the highest pitch that sound in a stretch of the axis."""

    left: float
    right: float
    lowest: int
    highest: int


def stroke_ticks(part: PlayedPart, row: int) -> NDArray[np.int64]:
    """Tick of each stroke of one track row; notes struck together are one stroke.

    A note belongs to the first of the part's sonorities that holds it; doubled keys belong to
    none.
    """
    notes, sonorities = part.notes, part.sonorities
    if not len(sonorities):
        return np.empty(0, np.int64)
    sonority_of = np.repeat(np.arange(len(sonorities)), np.diff(sonorities.first))
    members, first = np.unique(sonorities.members, return_index=True)
    is_mine = part.track[members] == row
    _, one_each = np.unique(sonority_of[first[is_mine]], return_index=True)
    return np.sort(notes.onset_ticks[members[is_mine][one_each]])


def density_columns(axis: Axis, part: PlayedPart, row: int) -> tuple[Column, ...]:
    """Strokes per second of each bar of a row; a column of several bars shows its busiest.

    Only columns with strokes are returned.
    """
    ticks = stroke_ticks(part, row)
    cells, counts = np.unique(_cells(part.timeline, ticks), return_counts=True)
    # A bar in no time at all (tempo 0) has no rate; leaving it out is the honest picture.
    seconds = _cell_seconds(part.timeline, cells)
    cells, rates = cells[seconds > 0], counts[seconds > 0] / seconds[seconds > 0]
    columns = axis.column_of((cells + axis.first).astype(np.float64))
    busiest = np.zeros(int(columns.max()) + 1 if len(columns) else 0)
    np.maximum.at(busiest, columns, rates)
    return _as_columns(axis, busiest)


def count_columns(axis: Axis, positions: NDArray[np.float64]) -> tuple[Column, ...]:
    """How many places on the axis fall into each column; only columns with any are returned."""
    return _as_columns(axis, np.bincount(axis.column_of(positions)).astype(np.float64))


def slide_positions(axis: Axis, part: PlayedPart, row: int) -> NDArray[np.float64]:
    """Where the slides of one track row begin."""
    ticks = [slide.onset_ticks for slide in part.slides if slide.track == row]
    return axis.positions(part.timeline, np.array(ticks, np.int64))


def pitch_columns(axis: Axis, part: PlayedPart, row: int) -> tuple[PitchColumn, ...]:
    """The band of pitches that sound in each column; columns of rest are left out."""
    notes = part.notes.select(part.track == row)
    if not len(notes):
        return ()
    left = axis.column_of(axis.positions(part.timeline, notes.onset_ticks))
    # A note that ends on a bar line does not sound in the next bar.
    ends = np.maximum(notes.release_ticks - 1, notes.onset_ticks)
    right = axis.column_of(axis.positions(part.timeline, ends))
    size = int(right.max()) + 1
    lowest, highest = np.full(size, 128), np.full(size, -1)
    for further in range(int((right - left).max()) + 1):
        is_sounding = left + further <= right
        columns = (left + further)[is_sounding]
        np.minimum.at(lowest, columns, notes.pitch[is_sounding])
        np.maximum.at(highest, columns, notes.pitch[is_sounding])
    return tuple(
        PitchColumn(*axis.edges(int(column)), int(lowest[column]), int(highest[column]))
        for column in np.flatnonzero(highest >= 0)
    )


def highest_value(columns: Iterable[Column]) -> float:
    """The largest value of any column, 0 for none."""
    return max((column.value for column in columns), default=0.0)


def _cells(timeline: Timeline, ticks: NDArray[np.int64]) -> NDArray[np.int64]:
    """Bar, or whole second, of each tick, from 0."""
    if timeline.meter is None:
        return np.floor(timeline.tempo.seconds_at(ticks)).astype(np.int64)
    return timeline.meter.bar_index(ticks)


def _cell_seconds(timeline: Timeline, cells: NDArray[np.int64]) -> NDArray[np.float64]:
    """How long each cell lasts, s."""
    if timeline.meter is None:
        return np.ones(len(cells))
    starts = timeline.tempo.seconds_at(timeline.meter.bar_start(cells))
    return timeline.tempo.seconds_at(timeline.meter.bar_start(cells + 1)) - starts


def _as_columns(axis: Axis, values: NDArray[np.float64]) -> tuple[Column, ...]:
    return tuple(
        Column(*axis.edges(int(column)), float(values[column])) for column in np.flatnonzero(values)
    )
