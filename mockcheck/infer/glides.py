"""Steady moves of the pitch in bend curves, told apart from vibrato, drift and resets."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

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
    vibrato_period_s: float = quantity(
        1 / 6,
        unit="s",
        low=0.1,
        high=0.3,
        meaning="averaging over it takes vibrato out",
        source="vibrato of string players 4 to 7.5 Hz, median 6.5: measured on the same recordings",
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
        0.1, unit="s", low=0.02, high=0.5, meaning="a plateau is looked for this far from the core"
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
    smooth = _Smooth(bend)
    found: list[Glide] = []
    for span in _candidates(bend, spans, smooth).tolist():
        found += _Moves(bend, smooth, spans, span).glides()
    return found


class _Smooth:
    """The curve averaged over a vibrato period, narrower near the ends of a span."""

    def __init__(self, bend: Curve) -> None:
        self.time_s = bend.time_s
        before = np.concatenate([[bend.default], bend.values[:-1]])
        # Time enters from the first event on; the integral of a step curve is piecewise straight.
        area = np.cumsum(before * np.diff(bend.time_s, prepend=bend.time_s[0]))
        self.area = np.concatenate([[area[0] - bend.default], area, [area[-1] + bend.values[-1]]])
        self.knots_s = np.concatenate([[bend.time_s[0] - 1], bend.time_s, [bend.time_s[-1] + 1]])
        self.ends = (bend.default, float(bend.values[-1]))

    def at(
        self,
        time_s: NDArray[np.float64],
        begin_s: NDArray[np.float64] | float,
        until_s: NDArray[np.float64] | float,
        here: NDArray[np.float64],
    ) -> NDArray[np.float64]:
        """Average around each second; `here` is the curve itself, for the very ends."""
        half = np.minimum(time_s - begin_s, until_s - time_s)
        half = np.clip(half, 0.0, GLIDE.vibrato_period_s / 2)
        is_end = half < _CLOCK_S
        width = np.where(is_end, 1.0, 2 * half)
        mean = (self._area(time_s + half) - self._area(time_s - half)) / width
        return np.where(is_end, here, mean)

    def _area(self, time_s: NDArray[np.float64]) -> NDArray[np.float64]:
        inside = np.interp(time_s, self.knots_s, self.area)
        early = np.minimum(time_s - self.knots_s[0], 0.0) * self.ends[0]
        late = np.maximum(time_s - self.knots_s[-1], 0.0) * self.ends[1]
        area: NDArray[np.float64] = inside + early + late
        return area


def _events_inside(bend: Curve, spans: Spans) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Bend events after the begin and before the end of each span, as first and after."""
    first = np.searchsorted(bend.time_s, spans.begin_s, side="right")
    after = np.searchsorted(bend.time_s, spans.until_s, side="left")
    return first, np.maximum(after, first)


def _candidates(bend: Curve, spans: Spans, smooth: _Smooth) -> NDArray[np.int64]:
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

    def __init__(self, bend: Curve, smooth: _Smooth, spans: Spans, span: int) -> None:
        self.span = span
        begin_s, until_s = float(spans.begin_s[span]), float(spans.until_s[span])
        first = int(np.searchsorted(bend.time_s, begin_s, side="right"))
        after = int(np.searchsorted(bend.time_s, until_s, side="left"))
        at_begin = float(bend.values[first - 1]) if first else bend.default
        is_new = np.diff(bend.values[first:after], prepend=at_begin) != 0
        time_s = [begin_s, *bend.time_s[first:after][is_new].tolist()]
        values = [at_begin, *bend.values[first:after][is_new].tolist()]
        time_s, values, until_s = _without_resets(
            time_s, values, until_s, float(spans.release_s[span])
        )
        self.time_s = np.array([*time_s, until_s])
        self.values = np.array([*values, values[-1]])
        self.trend = smooth.at(self.time_s, time_s[0], until_s, self.values)
        self.swing = float(np.median(np.abs(self.values - self.trend)))

    def glides(self) -> list[Glide]:
        heard = [glide for leg in self._legs() if (glide := self._measure(*leg)) is not None]
        return list(_without_returns(heard))

    def _legs(self) -> Iterator[tuple[int, int]]:
        """From turning point to turning point of the trend, small turns ignored."""
        turns = _turning_points(self.trend.tolist(), GLIDE.least_cents / 2)
        yield from pairwise(turns)

    def _measure(self, left: int, right: int) -> Glide | None:
        low, high = float(self.trend[left]), float(self.trend[right])
        if not self._stands_out(high - low):
            return None
        # Plateaus drift and shake too: their level counts close to the move, not where the curve
        # turns at last.
        core_begin_s, core_end_s = self._timed(left, right, low, high, GLIDE.core_share)
        around_s = max(core_end_s - core_begin_s, GLIDE.plateau_s)
        level_s = np.array([core_begin_s - around_s, core_end_s + around_s])
        level_s = np.clip(level_s, self.time_s[left], self.time_s[right])
        low, high = np.interp(level_s, self.time_s, self.trend).tolist()
        if not self._stands_out(high - low):
            return None
        edge = max(GLIDE.plateau_cents, 1.5 * self.swing) / abs(high - low)
        edge = min(max(edge, GLIDE.plateau_share), GLIDE.core_share)
        begin_s, end_s = self._timed(left, right, low, high, edge)
        margin_s = (end_s - begin_s) * edge / (1 - 2 * edge)
        begin_s, end_s = begin_s - margin_s, end_s + margin_s
        duration_s = end_s - begin_s
        if duration_s < GLIDE.least_s - _CLOCK_S:
            return None
        if abs(high - low) < GLIDE.slowest_cents_per_s * duration_s:
            return None
        begin_s = max(begin_s, float(self.time_s[0]))
        end_s = min(end_s, float(self.time_s[-1]))
        return Glide(self.span, begin_s, end_s, low, high)

    def _stands_out(self, travel: float) -> bool:
        return abs(travel) >= max(GLIDE.least_cents, GLIDE.above_vibrato * self.swing)

    def _timed(
        self, left: int, right: int, low: float, high: float, edge: float
    ) -> tuple[float, float]:
        """When the curve itself leaves the one level and reaches the other; a jump takes no time.

        The average spreads a quick move, so its time is read from the events. `edge` is the share
        of the move that counts as level.
        """
        reach_s = GLIDE.vibrato_period_s / 2
        first = int(np.searchsorted(self.time_s, self.time_s[left] - reach_s))
        after = int(np.searchsorted(self.time_s, self.time_s[right] + reach_s, side="right"))
        done = (self.values[first:after] - low) / (high - low)
        middle = (self.trend[first:after] - low) / (high - low)
        half = int(np.argmax(middle >= 0.5))
        early = np.flatnonzero(done[: half + 1] < edge)
        start = min(int(early[-1]) + 1, len(done) - 1) if len(early) else 0
        late = np.flatnonzero(done[start:] >= 1 - edge)
        stop = start + int(late[0]) if len(late) else len(done) - 1
        return float(self.time_s[first + start]), float(self.time_s[first + stop])


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
