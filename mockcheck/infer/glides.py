"""Steady moves of the pitch in bend curves, told apart from vibrato, drift and resets."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.smoothing import VIBRATO, SmoothCurve
from mockcheck.model.curves import Curve
from mockcheck.params import Params, quantity


class GlideParams(Params):
    """What makes a move of the pitch heard as a slide."""

    least_cents: float = quantity(
        80,
        unit="cents",
        low=20,
        high=300,
        meaning="a narrower move is intonation or vibrato",
        source="vibrato of violinists spans 34 cents in the middle, 69 at the 95th percentile, and"
        " no bend is over 90: measured on transcribed recordings of Paganini's caprices",
    )
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
    reset_s: float = quantity(
        0.03, unit="s", low=0, high=0.1, meaning="jumps this close to a note's ends are resets"
    )


GLIDE = GlideParams()
_RESET_STEPS = 3.0
_RESET_CENTS = 5.0
_CLOCK_S = 1e-6
_HALF = 0.5


@dataclass(frozen=True)
class Spans:
    """Stretches of time that belong to one note each, rising; arrays of shape (n,).

    `until_s` is where the note's claim on the bend ends (the next note, or its release) and
    `release_s` where its sound ends.
    """

    begin_s: NDArray[np.float64]
    until_s: NDArray[np.float64]
    release_s: NDArray[np.float64]


@dataclass(frozen=True)
class Glide:
    """One move: the span it lies in, its time, and the bend before and after it."""

    span: int
    begin_s: float
    end_s: float
    from_cents: float
    to_cents: float

    @property
    def travel_cents(self) -> float:
        """How far it moves; negative downwards."""
        return self.to_cents - self.from_cents


def find_glides(bend: Curve, spans: Spans) -> list[Glide]:
    """A slide is a move of a semitone or so that takes long enough to be heard.

    Parameters
    ----------
    bend
        Bend of one channel, cents.
    spans
        One for each onset on that channel.

    Returns
    -------
    Moves in time order. Jumps, vibrato, slow drift and moves that are taken back at once are left
    out.

    Source: steps of the procedure after the literature on vibrato and portamento (moving average
    over one vibrato period; logistic transitions, Yang 2015); the numbers in `GlideParams`.
    """
    if len(bend) == 0 or float(np.ptp(np.append(bend.values, bend.default))) < GLIDE.least_cents:
        return []
    smooth = SmoothCurve(bend)
    found: list[Glide] = []
    for span in _candidates(bend, spans, smooth).tolist():
        found += _Moves(bend, smooth, spans, span).glides()
    return found


def _events_inside(bend: Curve, spans: Spans) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Bend events after the begin and before the end of each span, as first and after."""
    first = np.searchsorted(bend.time_s, spans.begin_s, side="right")
    after = np.searchsorted(bend.time_s, spans.until_s, side="left")
    return first, np.maximum(after, first)


def _candidates(bend: Curve, spans: Spans, smooth: SmoothCurve) -> NDArray[np.int64]:
    """Spans whose curve travels far enough even without its vibrato."""
    first, after = _events_inside(bend, spans)
    at_begin = np.concatenate([[bend.default], bend.values])[first]
    low, high = _extremes(bend.values, first, after, at_begin)
    wide = np.flatnonzero(high - low >= GLIDE.least_cents)
    if len(wide) == 0:
        return wide.astype(np.int64)
    counts = (after - first)[wide]
    starts = np.cumsum(counts) - counts
    rows = np.repeat(first[wide] - starts, counts) + np.arange(int(counts.sum()))
    which = np.repeat(wide, counts)
    values = bend.values[rows]
    trend = smooth.at(bend.time_s[rows], spans.begin_s[which], spans.until_s[which], values)
    last = values[starts + counts - 1]
    low, high = _extremes(trend, starts, starts + counts, at_begin[wide])
    travel = np.maximum(high, last) - np.minimum(low, last)
    swing = np.maximum.reduceat(np.abs(values - trend), starts)
    stands_out: NDArray[np.bool_] = travel >= np.maximum(GLIDE.least_cents, 1.5 * swing)
    return wide[stands_out].astype(np.int64)


def _extremes(
    values: NDArray[np.float64],
    first: NDArray[np.intp],
    after: NDArray[np.intp],
    at_begin: NDArray[np.float64],
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Lowest and highest value of each stretch, with the value it begins at."""
    low, high = at_begin.copy(), at_begin.copy()
    filled = np.flatnonzero(after > first)
    if len(filled):
        edges = np.stack([first[filled], after[filled]], axis=1).ravel()
        padded = np.append(values, values[-1])
        low[filled] = np.minimum(low[filled], np.minimum.reduceat(padded, edges)[::2])
        high[filled] = np.maximum(high[filled], np.maximum.reduceat(padded, edges)[::2])
    return low, high


class _Moves:
    """The moves of one span."""

    def __init__(self, bend: Curve, smooth: SmoothCurve, spans: Spans, span: int) -> None:
        self.span = span
        begin_s, until_s = float(spans.begin_s[span]), float(spans.until_s[span])
        first = int(np.searchsorted(bend.time_s, begin_s, side="right"))
        after = int(np.searchsorted(bend.time_s, until_s, side="left"))
        at_begin = float(bend.values[first - 1]) if first else bend.default
        time_s = [begin_s, *bend.time_s[first:after].tolist()]
        values = [at_begin, *bend.values[first:after].tolist()]
        time_s, values, until_s = _without_resets(
            *_changes(time_s, values), until_s, float(spans.release_s[span])
        )
        self.smooth = smooth
        self.time_s, self.values = _with_rests([*time_s, until_s], [*values, values[-1]])
        self.trend = self._trend_at(self.time_s)
        deviations = sorted(abs(v - t) for v, t in zip(self.values, self.trend, strict=True))
        self.swing = deviations[len(deviations) // 2]

    def glides(self) -> list[Glide]:
        heard = [glide for leg in self._legs() if (glide := self._measure(*leg)) is not None]
        return list(_without_returns(heard))

    def _legs(self) -> Iterator[tuple[int, int]]:
        """From turning point or plateau to the next; small turns are ignored."""
        turns = _turning_points(self.trend, GLIDE.least_cents / 2)
        for left, right in pairwise(turns):
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
        low, high = self.trend[left], self.trend[right]
        if not self._stands_out(high - low):
            return None
        # Plateaus drift and shake too: their level counts close to the move, not where the curve
        # turns at last.
        core_begin_s, core_end_s = self._timed(left, right, low, high, GLIDE.core_share)
        around_s = core_end_s - core_begin_s + GLIDE.plateau_s
        level_s = [
            max(core_begin_s - around_s, self.time_s[left]),
            min(core_end_s + around_s, self.time_s[right]),
        ]
        low, high = self._trend_at(level_s)
        if not self._stands_out(high - low):
            return None
        edge = max(GLIDE.plateau_cents, 1.5 * self.swing) / abs(high - low)
        edge = min(max(edge, GLIDE.plateau_share), GLIDE.core_share)
        begin_s, end_s = self._timed(left, right, low, high, edge)
        margin_s = (end_s - begin_s) * edge / (1 - 2 * edge)
        begin_s, end_s = begin_s - margin_s, end_s + margin_s
        if end_s - begin_s < GLIDE.least_s - _CLOCK_S:
            return None
        begin_s, end_s = max(begin_s, self.time_s[0]), min(end_s, self.time_s[-1])
        return Glide(self.span, begin_s, end_s, low, high)

    def _trend_at(self, time_s: list[float]) -> list[float]:
        here = [self.values[max(bisect_right(self.time_s, at) - 1, 0)] for at in time_s]
        begin_s, until_s = self.time_s[0], self.time_s[-1]
        trend: list[float] = self.smooth.at(
            np.array(time_s), begin_s, until_s, np.array(here)
        ).tolist()
        return trend

    def _stands_out(self, travel: float) -> bool:
        return abs(travel) >= max(GLIDE.least_cents, GLIDE.above_vibrato * self.swing)

    def _timed(
        self, left: int, right: int, low: float, high: float, edge: float
    ) -> tuple[float, float]:
        """When the curve itself leaves the one level and reaches the other; a jump takes no time.

        The average spreads a quick move, so its time is read from the events. `edge` is the share
        of the move that counts as level.
        """
        reach_s = VIBRATO.period_s / 2
        first = bisect_left(self.time_s, self.time_s[left] - reach_s)
        last = bisect_right(self.time_s, self.time_s[right] + reach_s) - 1
        travel = high - low
        start = first
        while start < last and (self.trend[start] - low) / travel < _HALF:
            start += 1
        while start > first and (self.values[start] - low) / travel >= edge:
            start -= 1
        # The row reached is the last one on the level, unless the move begins with the span.
        start += start < last and (self.values[start] - low) / travel < edge
        stop = start
        while stop < last and (self.values[stop] - low) / travel < 1 - edge:
            stop += 1
        return self.time_s[start], self.time_s[stop]


def _changes(time_s: list[float], values: list[float]) -> tuple[list[float], list[float]]:
    """The events that change the value."""
    rows = [0, *(row for row in range(1, len(values)) if values[row] != values[row - 1])]
    return [time_s[row] for row in rows], [values[row] for row in rows]


def _with_rests(time_s: list[float], values: list[float]) -> tuple[list[float], list[float]]:
    """The events, and two more points in each long time without any, so that it shows."""
    times, levels = time_s[:1], values[:1]
    for at_s, value in zip(time_s[1:], values[1:], strict=True):
        if at_s - times[-1] >= 3 * GLIDE.plateau_s:
            times += [times[-1] + GLIDE.plateau_s, at_s - GLIDE.plateau_s]
            levels += [levels[-1], levels[-1]]
        times.append(at_s)
        levels.append(value)
    return times, levels


def _without_resets(
    time_s: list[float], values: list[float], until_s: float, release_s: float
) -> tuple[list[float], list[float], float]:
    """A span without the moves that only bring the wheel into place for a note."""
    steps = [after - before for before, after in pairwise(values)]
    first = _first_in_place(time_s, steps)
    for row in range(first + 1, len(values)):
        step, before = steps[row - 1], steps[row - 2] if row >= first + 2 else 0.0
        is_late = time_s[row] >= min(release_s, until_s - GLIDE.reset_s) - _CLOCK_S
        jumps_home = abs(values[row]) <= _RESET_CENTS < abs(values[row - 1])
        is_jump = jumps_home and abs(step) >= max(_RESET_CENTS, _RESET_STEPS * abs(before))
        # In silence only a move that began with the sound leads on.
        is_silent = time_s[row] >= release_s - _CLOCK_S
        goes_on = step * before > 0 and time_s[row] - time_s[row - 1] <= GLIDE.return_s / 2
        if (is_late and is_jump) or (is_silent and not goes_on):
            return time_s[first:row], values[first:row], time_s[row]
    return time_s[first:], values[first:], until_s


def _first_in_place(time_s: list[float], steps: list[float]) -> int:
    """The row at which a jump right after the onset has brought the wheel into place."""
    first = 0
    for row, step in enumerate(steps, start=1):
        if time_s[row] - time_s[0] > GLIDE.reset_s:
            break
        following = steps[row] if row < len(steps) else 0.0
        if abs(step) >= max(GLIDE.least_cents, _RESET_STEPS * abs(following)):
            first = row
    return first


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
    """Moves without those that are taken back at once: bend and release, or a slow wobble."""
    dropped = set()
    for row, (one, two) in enumerate(pairwise(glides)):
        error = abs(one.travel_cents + two.travel_cents)
        allowed = GLIDE.return_share * min(abs(one.travel_cents), abs(two.travel_cents))
        is_back = one.travel_cents * two.travel_cents < 0 and error <= max(40.0, allowed)
        if is_back and two.end_s - one.begin_s <= GLIDE.return_s:
            dropped |= {row, row + 1}
    for row, glide in enumerate(glides):
        if row not in dropped:
            yield glide
