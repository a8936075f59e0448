"""The sounding pitch, note after note: key and bend together, joined where the pitch goes on.

A slide between two notes may be drawn on the one it leaves, on the one it reaches or half on each;
what is heard is the same. So the curve is followed over the onset wherever the new key and the
jump of the wheel cancel out, and a wheel that is only brought into place is taken out.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.bend_spans import Spans, next_spans, values_at
from mockcheck.infer.smoothing import SmoothCurve
from mockcheck.model.curves import Curve
from mockcheck.params import Params, quantity


class PitchLineParams(Params):
    """When the pitch goes on from note to note, and when the wheel only gets into place."""

    least_cents: float = quantity(
        80,
        unit="cents",
        low=20,
        high=300,
        meaning="a narrower move is intonation or vibrato",
        source="vibrato of violinists spans 34 cents in the middle, 69 at the 95th percentile, and"
        " no bend is over 90: measured on transcribed recordings of Paganini's caprices",
    )
    reset_s: float = quantity(
        0.03, unit="s", low=0, high=0.1, meaning="jumps this close to a note's ends are resets"
    )
    moment_s: float = quantity(
        0.005,
        unit="s",
        low=0.001,
        high=0.02,
        meaning="values sent within one such moment count as the last of them",
        source="about a tick at 120 quarters a minute and 96 ticks a quarter, as in old files;"
        " common practice, no source",
    )
    lead_s: float = quantity(
        0.25,
        unit="s",
        low=0.05,
        high=1,
        meaning="a move that rests longer in silence does not lead on",
    )
    displaced_cents: float = quantity(
        40,
        unit="cents",
        low=10,
        high=100,
        meaning="a wheel this far off at a change of notes may carry the pitch over it; vibrato of"
        " players seldom swings as far",
    )
    meets_share: float = quantity(
        0.4,
        unit="share of the interval",
        low=0.05,
        high=0.6,
        meaning="the pitch goes on when it jumps by no more; a steep curve in few messages jumps",
    )
    meets_cents: float = quantity(
        25, unit="cents", low=5, high=60, meaning="or by no more than this"
    )


LINES = PitchLineParams()
_RESET_STEPS = 3.0
_HOME_CENTS = 5.0
_CLOCK_S = 1e-6


@dataclass(frozen=True)
class PitchLine:
    """The pitch of one note, or of several that it goes on through; cents above MIDI note 0.

    `notes` are rows, `home_cents` their keys and `begin_s` their onsets, in turn; `time_s` and
    `cents` are the steps of the curve, rising in time, and `until_s` is where the last one ends.
    """

    notes: tuple[int, ...]
    home_cents: tuple[float, ...]
    begin_s: tuple[float, ...]
    time_s: list[float]
    cents: list[float]
    until_s: float

    def place_at(self, second: float) -> int:
        """Which of the notes has begun last at a second, counted from 0."""
        return max(sum(begin_s <= second + _CLOCK_S for begin_s in self.begin_s) - 1, 0)


def pitch_lines(spans: Spans, bends: Mapping[int, Curve]) -> Iterator[PitchLine]:
    """The lines in which the pitch may travel; where it cannot, none is made.

    Parameters
    ----------
    bends
        Bend of each channel, cents.
    """
    pieces = _Pieces(spans, bends)
    followers = _followers(spans, bends, pieces)
    led = set(followers.values())
    heads = {span for span in followers if span not in led}
    single = set(_travelling(spans, bends)) - led - set(followers)
    for head in sorted(heads | single):
        chain = [head]
        while chain[-1] in followers:
            chain.append(followers[chain[-1]])
        yield _line(spans, pieces, chain)


def _line(spans: Spans, pieces: _Pieces, chain: Sequence[int]) -> PitchLine:
    time_s: list[float] = []
    cents: list[float] = []
    until_s = 0.0
    for row, span in enumerate(chain):
        after = chain[row + 1] if row + 1 < len(chain) else None
        own_s, own_cents, until_s = pieces.of(span, after)
        home = 100 * float(spans.pitch[span])
        time_s += own_s
        cents += [home + value for value in own_cents]
    rows = list(chain)
    return PitchLine(
        notes=tuple(spans.note[rows].tolist()),
        home_cents=tuple((100 * spans.pitch[rows]).tolist()),
        begin_s=tuple(spans.begin_s[rows].tolist()),
        time_s=time_s,
        cents=cents,
        until_s=until_s,
    )


def _followers(spans: Spans, bends: Mapping[int, Curve], pieces: _Pieces) -> dict[int, int]:
    """The span that takes over the pitch of another at its onset, one for one."""
    left, right = next_spans(spans)
    onset_s = spans.begin_s[right]
    interval = 100 * (spans.pitch[right] - spans.pitch[left])
    allowed = np.maximum(LINES.meets_cents, LINES.meets_share * np.abs(interval))
    before = values_at(spans, bends, left, onset_s, side="left")
    early = values_at(spans, bends, left, onset_s - LINES.reset_s, side="left")
    after = values_at(spans, bends, right, onset_s, side="right")
    late = values_at(spans, bends, right, onset_s + LINES.reset_s, side="right")
    jumps = [interval + here - there for here in (after, late) for there in (before, early)]
    nearest = np.min(np.abs(jumps), axis=0)
    away = np.max(np.abs([before, early, after, late]), axis=0)
    chosen = np.flatnonzero((nearest <= allowed) & (away >= LINES.displaced_cents))
    followers: dict[int, int] = {}
    taken: set[int] = set()
    for row in chosen[np.argsort(nearest[chosen], kind="stable")].tolist():
        one, two = int(left[row]), int(right[row])
        if one in followers or two in taken:
            continue
        # Without the resets the last value of the one and the first of the other decide.
        jump = interval[row] + pieces.of(two)[1][0] - pieces.of(one, two)[1][-1]
        if abs(jump) <= allowed[row]:
            followers[one] = two
            taken.add(two)
    return followers


class _Pieces:
    """The bend of each span as times and values, without the resets at its ends."""

    def __init__(self, spans: Spans, bends: Mapping[int, Curve]) -> None:
        self.spans = spans
        self.bends = bends
        self.known: dict[tuple[int, float], tuple[list[float], list[float], float]] = {}

    def of(self, span: int, before: int | None = None) -> tuple[list[float], list[float], float]:
        """Times, cents and end of one span, cut off where another begins; only the changes."""
        until_s = float(self.spans.until_s[span])
        if before is not None:
            until_s = min(until_s, float(self.spans.begin_s[before]))
        if (span, until_s) not in self.known:
            self.known[span, until_s] = self._cut(span, until_s)
        return self.known[span, until_s]

    def _cut(self, span: int, until_s: float) -> tuple[list[float], list[float], float]:
        bend = self.bends[int(self.spans.channel[span])]
        begin_s = float(self.spans.begin_s[span])
        first = int(np.searchsorted(bend.time_s, begin_s, side="right"))
        after = max(int(np.searchsorted(bend.time_s, until_s, side="left")), first)
        time_s, values = bend.time_s[first:after], bend.values[first:after]
        # Of values sent in one moment only the last is heard.
        moment = np.floor(time_s / LINES.moment_s + _CLOCK_S)
        is_last = np.append(moment[1:] != moment[:-1], True)[: len(moment)]
        time_s = np.append(begin_s, time_s[is_last])
        values = np.append(bend.values[first - 1] if first else bend.default, values[is_last])
        changes = np.append(True, values[1:] != values[:-1])
        release_s = min(float(self.spans.release_s[span]), until_s)
        return _without_resets(time_s[changes], values[changes], until_s, release_s)


def _without_resets(
    time_s: NDArray[np.float64], values: NDArray[np.float64], until_s: float, release_s: float
) -> tuple[list[float], list[float], float]:
    """A span without the moves that only bring the wheel into place for a note."""
    first = _first_in_place(time_s, values)
    late_s = min(release_s, until_s - LINES.reset_s) - _CLOCK_S
    late = max(int(np.searchsorted(time_s, late_s)), first + 1)
    after = len(values)
    # Plain numbers: the few late rows are looked at one by one.
    begin = max(late - 2, first)
    times, levels = time_s[begin:].tolist(), values[begin:].tolist()
    for row in range(late - begin, len(levels)):
        step = levels[row] - levels[row - 1]
        before = levels[row - 1] - levels[row - 2] if row >= 2 else 0.0
        is_home = abs(levels[row]) <= _HOME_CENTS < abs(levels[row - 1])
        least = _HOME_CENTS if is_home else LINES.least_cents
        is_jump = abs(step) >= max(least, _RESET_STEPS * abs(before))
        # In silence only a move that began with the sound leads on.
        is_silent = times[row] >= release_s - _CLOCK_S
        goes_on = step * before > 0 and times[row] - times[row - 1] <= LINES.lead_s
        if is_jump or (is_silent and not goes_on):
            after, until_s = begin + row, times[row]
            break
    return time_s[first:after].tolist(), values[first:after].tolist(), until_s


def _first_in_place(time_s: NDArray[np.float64], values: NDArray[np.float64]) -> int:
    """The row at which a jump right after the onset has brought the wheel into place."""
    first = 0
    early = int(np.searchsorted(time_s, time_s[0] + LINES.reset_s, side="right"))
    steps = np.diff(values[: early + 1]).tolist()
    for row in range(1, early):
        following = steps[row] if row < len(steps) else 0.0
        if abs(steps[row - 1]) >= max(LINES.least_cents, _RESET_STEPS * abs(following)):
            first = row
    return first


def _travelling(spans: Spans, bends: Mapping[int, Curve]) -> Iterator[int]:
    """Spans whose own bend travels far enough even without its vibrato."""
    for channel, bend in bends.items():
        own = np.flatnonzero(spans.channel == channel)
        if len(own) and len(bend):
            yield from own[_travel_of(bend, spans.begin_s[own], spans.until_s[own])].tolist()


def _travel_of(
    bend: Curve, begin_s: NDArray[np.float64], until_s: NDArray[np.float64]
) -> NDArray[np.int64]:
    """Which stretches of a curve are wide enough, as row numbers."""
    first = np.searchsorted(bend.time_s, begin_s, side="right")
    after = np.maximum(np.searchsorted(bend.time_s, until_s, side="left"), first)
    at_begin = np.concatenate([[bend.default], bend.values])[first]
    low, high = _extremes(bend.values, first, after, at_begin)
    wide = np.flatnonzero(high - low >= LINES.least_cents)
    if len(wide) == 0:
        return wide.astype(np.int64)
    counts = (after - first)[wide]
    starts = np.cumsum(counts) - counts
    rows = np.repeat(first[wide] - starts, counts) + np.arange(int(counts.sum()))
    which = np.repeat(wide, counts)
    values = bend.values[rows]
    trend = SmoothCurve(bend).at(bend.time_s[rows], begin_s[which], until_s[which], values)
    last = values[starts + counts - 1]
    low, high = _extremes(trend, starts, starts + counts, at_begin[wide])
    travel = np.maximum(high, last) - np.minimum(low, last)
    swing = np.maximum.reduceat(np.abs(values - trend), starts)
    stands_out: NDArray[np.bool_] = travel >= np.maximum(LINES.least_cents, 1.5 * swing)
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
