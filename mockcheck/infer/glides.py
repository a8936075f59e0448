"""Steady moves of the sounding pitch, told apart from vibrato, drift and quick joins."""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.pitch_lines import LINES, PitchLine
from mockcheck.infer.plateaus import PLATEAU, note_plateaus
from mockcheck.infer.smoothing import VIBRATO, SmoothCurve
from mockcheck.model.curves import Curve
from mockcheck.params import Params, quantity


class GlideParams(Params):
    """What makes a move of the pitch heard as a slide."""

    least_s: float = quantity(
        0.06,
        unit="s",
        low=0.01,
        high=0.3,
        meaning="a faster move is an ordinary join of notes",
        source="of joins that begin more than 40 cents off, 90 percent have arrived after 25 ms"
        " (steps) to 68 ms (fifths): measured on transcribed recordings of violinists",
    )
    slowest_cents_per_s: float = quantity(
        50, unit="cents/s", low=5, high=200, meaning="a slower move is drift of intonation"
    )
    above_vibrato: float = quantity(
        3.5,
        unit="times the middle deviation of the vibrato",
        low=1,
        high=10,
        meaning="a slide stands out from the vibrato around it; a swing has 1.4 times its middle"
        " deviation to either side",
    )
    level_cents: float = quantity(
        40,
        unit="cents",
        low=10,
        high=100,
        meaning="vibrato is measured where the trend moves no further in the time of one swing",
    )
    plateau_cents: float = quantity(
        20, unit="cents", low=5, high=50, meaning="a plateau is level within this"
    )
    plateau_share: float = quantity(
        0.05, unit="share of the move", low=0, high=0.2, meaning="or within this part of the move"
    )
    core_share: float = quantity(
        0.2,
        unit="share of the move",
        low=0.1,
        high=0.4,
        meaning="but never within more than this; what lies between is the core of the move",
    )
    plateau_s: float = quantity(
        0.1,
        unit="s",
        low=0.02,
        high=0.5,
        meaning="a plateau is looked for this far from a move as long as the core on either side",
    )
    return_s: float = quantity(
        0.5, unit="s", low=0.1, high=2, meaning="a move taken back within this time is no slide"
    )
    return_share: float = quantity(
        0.25, unit="share of the move", low=0, high=0.5, meaning="as exactly as this"
    )


GLIDE = GlideParams()
_CLOCK_S = 1e-6
_HALF = 0.5
_RETURN_CENTS = 40.0
_LOGISTIC_STEEPNESS = 10.0
"""Of the curve from 0 to 1: it begins and ends within a hundredth of its levels."""


@dataclass(frozen=True)
class Glide:
    """One move of a line: its time, the pitch before and after it, and the notes it lies in.

    Pitches are cents above MIDI note 0; notes are places in the line, counted from 0.
    """

    begin_s: float
    end_s: float
    from_cents: float
    to_cents: float
    first: int
    last: int

    @property
    def travel_cents(self) -> float:
        """How far it moves; negative downwards."""
        return self.to_cents - self.from_cents


def find_glides(line: PitchLine) -> list[Glide]:
    """A slide is a move of a semitone or so that takes long enough to be heard.

    Returns
    -------
    Moves in time order. Jumps, vibrato, slow drift and moves that are taken back at once are left
    out. A note at which the pitch stays for a moment ends one move and begins another.

    Source: steps of the procedure after the literature on vibrato and portamento (moving average
    over one vibrato period; logistic transitions, Yang 2015); the numbers in `GlideParams`.
    """
    return list(_without_returns(list(_Moves(line).glides())))


class _Moves:
    """The moves of one line."""

    def __init__(self, line: PitchLine) -> None:
        self.line = line
        self.time_s, self.cents = _with_rests(
            [*line.time_s, line.until_s], [*line.cents, line.cents[-1]]
        )
        self.at_s, cents = np.array(self.time_s), np.array(self.cents)
        curve = Curve(np.zeros(len(cents), np.int64), self.at_s, cents, self.cents[0])
        self.smooth = SmoothCurve(curve)
        trend = self._trend_at(self.at_s)
        self.trend: list[float] = trend.tolist()
        self.swing = self._middle_swing(np.abs(cents - trend))
        self.stops = note_plateaus(line, self.at_s, cents) if len(line.notes) > 1 else {}

    def glides(self) -> Iterator[Glide]:
        for leg in self._legs():
            glide = self._measure(*leg)
            if glide is not None:
                yield glide

    def _legs(self) -> Iterator[tuple[int, int]]:
        """From turning point, plateau or note to the next; small turns are ignored."""
        turns = _turning_points(self.trend, LINES.least_cents / 2)
        for left, right in pairwise(sorted({*turns, *self.stops})):
            yield from pairwise([left, *self._plateaus(left, right), right])

    def _plateaus(self, left: int, right: int) -> Iterator[int]:
        """Rows between two turns where the trend moves no faster than drift for a while."""
        first = left
        for row in range(left + 1, right):
            if abs(self.trend[row] - self.trend[first]) > GLIDE.plateau_cents:
                while abs(self.trend[row] - self.trend[first]) > GLIDE.plateau_cents:
                    first += 1
            elif (self.time_s[row] - self.time_s[first]) * GLIDE.slowest_cents_per_s >= (
                GLIDE.plateau_cents
            ):
                yield row
                first = row

    def _measure(self, left: int, right: int) -> Glide | None:
        low, high = self._level(left), self._level(right)
        if abs(high - low) < LINES.least_cents:
            return None
        # Plateaus drift and shake too: their level counts close to the move, not where the curve
        # turns at last.
        core = self._timed(left, right, low, high, GLIDE.core_share)
        low, high, doubt = self._levels_around(left, right, core)
        least = max(LINES.least_cents + doubt, GLIDE.above_vibrato * self.swing)
        if abs(high - low) < least:
            return None
        edge = max(GLIDE.plateau_cents, 1.5 * self.swing) / abs(high - low)
        edge = min(max(edge, GLIDE.plateau_share), GLIDE.core_share)
        begin_s, end_s = self._drawn(*self._timed(left, right, low, high, edge), high - low, edge)
        if end_s - begin_s < GLIDE.least_s - _CLOCK_S:
            return None
        places = (self._place(row, left, right) for row in (begin_s, end_s))
        return Glide(begin_s, end_s, low, high, *places)

    def _place(self, second: float, left: int, right: int) -> int:
        """The note in which a second of a leg lies."""
        inside = min(max(second, self.time_s[left]), self.time_s[right])
        return self.line.place_at(inside)

    def _level(self, row: int) -> float:
        return self.stops.get(row, self.trend[row])

    def _levels_around(
        self, left: int, right: int, core: tuple[int, int]
    ) -> tuple[float, float, float]:
        """The pitch a little before the core and after it, and how far vibrato may put it off."""
        begin_s, end_s = self.time_s[core[0]], self.time_s[core[1]]
        around_s = end_s - begin_s + GLIDE.plateau_s
        at_s = [
            max(begin_s - around_s, self.time_s[left]),
            min(end_s + around_s, self.time_s[right]),
        ]
        doubt = 0.0
        for row, second in zip((left, right), at_s, strict=True):
            # At the ends of the line no whole swing is left to average over.
            room_s = min(second - self.time_s[0], self.time_s[-1] - second)
            if row not in self.stops:
                lack = max(1 - room_s / (VIBRATO.period_s / 2), 0.0)
                doubt += lack * VIBRATO.height(self.swing)
        low, high = self._trend_at(np.array(at_s)).tolist()
        return self.stops.get(left, low), self.stops.get(right, high), doubt

    def _trend_at(self, second: NDArray[np.float64]) -> NDArray[np.float64]:
        rows = np.searchsorted(self.at_s, second, side="right") - 1
        here = self.smooth.curve.values[np.maximum(rows, 0)]
        return self.smooth.at(second, self.time_s[0], self.time_s[-1], here)

    def _middle_swing(self, deviation: NDArray[np.float64]) -> float:
        """Middle deviation of the curve from its trend where the trend is whole and level."""
        reach_s = VIBRATO.period_s / 2
        first = np.searchsorted(self.at_s, self.at_s[0] + reach_s)
        after = np.searchsorted(self.at_s, self.at_s[-1] - reach_s, side="right")
        inside = self.at_s[first:after]
        turn = self._trend_at(inside + reach_s) - self._trend_at(inside - reach_s)
        level = deviation[first:after][np.abs(turn) <= GLIDE.level_cents]
        return float(np.median(level)) if len(level) else 0.0

    def _timed(
        self, left: int, right: int, low: float, high: float, edge: float
    ) -> tuple[int, int]:
        """Rows at which the curve itself leaves the one level and reaches the other.

        The average spreads a quick move, so its time is read from the events. `edge` is the share
        of the move that counts as level.
        """
        # Beside a turning point the average is late; a note's own plateau is where it is.
        reach_s = VIBRATO.period_s / 2
        first, last = left, right
        if left not in self.stops:
            first = bisect_left(self.time_s, self.time_s[left] - reach_s)
        if right not in self.stops:
            last = bisect_right(self.time_s, self.time_s[right] + reach_s) - 1
        travel = high - low
        start = first
        while start < last and (self.trend[start] - low) / travel < _HALF:
            start += 1
        while start > first and (self.cents[start] - low) / travel >= edge:
            start -= 1
        # The row reached is the last one on the level, unless the move begins with the line.
        start += start < last and (self.cents[start] - low) / travel < edge
        stop = start
        while stop < last and (self.cents[stop] - low) / travel < 1 - edge:
            stop += 1
        return start, stop

    def _drawn(self, start: int, stop: int, travel: float, edge: float) -> tuple[float, float]:
        """From the first message of a move to the last; curves begin and end softly.

        A straight line goes on outside its core for as long as its pace says, a logistic curve
        (Yang 2015) drawn from its first to its last hundredth for no longer than `most_s`.
        """
        begin_s, end_s = self.time_s[start], self.time_s[stop]
        margin_s = (end_s - begin_s) * edge / (1 - 2 * edge)
        most_s = (end_s - begin_s) * (_LOGISTIC_STEEPNESS / 2 / math.log(1 / edge - 1) - 1) / 2
        while (
            start > 1
            and self._goes_on(start - 1, travel)
            and begin_s - self.time_s[start - 1] <= most_s
        ):
            start -= 1
        while (
            stop + 1 < len(self.cents)
            and self._goes_on(stop + 1, travel)
            and self.time_s[stop + 1] - end_s <= most_s
        ):
            stop += 1
        return (
            max(min(begin_s - margin_s, self.time_s[start]), self.time_s[0]),
            min(max(end_s + margin_s, self.time_s[stop]), self.time_s[-1]),
        )

    def _goes_on(self, row: int, travel: float) -> bool:
        """Whether the step into a row goes the way of a move, and faster than the vibrato."""
        step = self.cents[row] - self.cents[row - 1]
        shaken = VIBRATO.fastest(self.swing) * (self.time_s[row] - self.time_s[row - 1])
        return step * travel > 0 and abs(step) >= shaken


def _with_rests(time_s: list[float], cents: list[float]) -> tuple[list[float], list[float]]:
    """The events, and points in each time without any, so that it shows."""
    if float(np.max(np.diff(time_s), initial=0.0)) < 2 * PLATEAU.least_s:
        return time_s, cents
    times, levels = time_s[:1], cents[:1]
    for at_s, value in zip(time_s[1:], cents[1:], strict=True):
        if at_s - times[-1] >= 3 * GLIDE.plateau_s:
            times += [times[-1] + GLIDE.plateau_s, at_s - GLIDE.plateau_s]
            levels += [levels[-1], levels[-1]]
        elif at_s - times[-1] >= 2 * PLATEAU.least_s:
            times.append((times[-1] + at_s) / 2)
            levels.append(levels[-1])
        times.append(at_s)
        levels.append(value)
    return times, levels


def _turning_points(trend: list[float], least: float) -> list[int]:
    """Rows where the trend turns by at least so much, with its first and last row."""
    turns = [0]
    extreme, direction = 0, 0
    for row, value in enumerate(trend):
        change = value - trend[extreme]
        if direction == 0:
            if abs(value - trend[0]) >= least:
                direction, extreme = (1 if value > trend[0] else -1), row
        elif change * direction >= 0:
            extreme = row if change else extreme
        elif abs(change) >= least:
            turns.append(extreme)
            direction, extreme = -direction, row
    return [*turns, extreme] if direction else turns


def _without_returns(glides: list[Glide]) -> Iterator[Glide]:
    """Moves without those of one note that are taken back at once: bend and release, a wobble."""
    dropped = set()
    for row, (one, two) in enumerate(pairwise(glides)):
        error = abs(one.travel_cents + two.travel_cents)
        allowed = GLIDE.return_share * min(abs(one.travel_cents), abs(two.travel_cents))
        is_back = one.travel_cents * two.travel_cents < 0 and error <= max(_RETURN_CENTS, allowed)
        is_within = one.first == one.last == two.first == two.last
        if is_within and is_back and two.end_s - one.begin_s <= GLIDE.return_s:
            dropped |= {row, row + 1}
    for row, glide in enumerate(glides):
        if row not in dropped:
            yield glide
