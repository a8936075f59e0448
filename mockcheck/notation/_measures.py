"""The bars of a part as printed, and where in them each note stands, in quarters."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from fractions import Fraction
from itertools import accumulate

import numpy as np

from mockcheck.errors import UnreadableInput
from mockcheck.model.played import PlayedPart
from mockcheck.model.time import MeterMap, Timeline
from mockcheck.model.written import ONSET_KINDS, WrittenRhythm
from mockcheck.notation.values import FINEST, BarShape, bar_shape

_MOST_BARS = 20_000
"""Ten hours of four beats a bar at two a second; a damaged file may claim far more."""
_SHORT_BAR_PARTS = 16
"""A bar cut short by the next signature is taken to end on a 64th."""
_ROUGH_PARTS = 8
"""Where a part follows no beat its onsets are put on the nearest demisemiquaver."""
_QUARTERS_PER_S = 2
"""Where a file counts frames, half a second stands for a quarter, in four."""
_FINE_PARTS = 64
_SAME_PLACE_TICKS = 1.0
_PARTS_OF_BEAT = (1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 12, 14, 15, 16, 20, 24, 32, 48)
"""Ways to cut a beat that are looked for, simplest first."""
_PLAIN = ONSET_KINDS.index("plain")


@dataclass(frozen=True)
class Measure:
    """One bar: its first quarter from the start of the music, its metre as printed, its beats."""

    start: Fraction
    metre: tuple[int, int]
    shape: BarShape
    is_implicit: bool
    tick: int

    @property
    def end(self) -> Fraction:
        """Its bar line, quarters from the start of the music."""
        return self.start + self.shape.length


class Measures:
    """Bars of one timeline, as many as asked for and a few more."""

    def __init__(self, timeline: Timeline, count: int) -> None:
        if count > _MOST_BARS:
            message = (
                f"The notes reach to bar {count}: no music has so many bars. Move the last notes"
                " nearer to the others and try again."
            )
            raise UnreadableInput(message)
        self.bars = _list_bars(timeline, count)
        self._starts = [bar.start for bar in self.bars]

    def index_at(self, quarter: Fraction) -> int:
        """Bar, from 0, of a place."""
        return min(max(bisect_right(self._starts, quarter) - 1, 0), len(self.bars) - 1)

    def place(self, bar_index: int, within: Fraction) -> Fraction:
        """A place in a bar, quarters from the start; past its end the next bar begins."""
        bar = self.bars[bar_index]
        return bar.start + min(within, bar.shape.length)


def count_bars(part: PlayedPart) -> int:
    """Bars up to the last sounding note of a part, at least 1."""
    if not len(part.notes):
        return 1
    meter = part.timeline.meter
    if meter is None:
        return int(part.notes.release_s.max() * _QUARTERS_PER_S / 4) + 1
    # Onsets put on the nearest place may be put on the next bar line.
    nearest = 0 if part.written is not None else meter.ticks_per_quarter // (2 * _ROUGH_PARTS)
    last = max(part.notes.release_ticks.max() - 1, part.notes.onset_ticks.max() + nearest)
    bars = int(meter.bar_index(np.array([last]))[0]) + 1
    if part.written is not None:
        grid, onsets = part.written.grid, part.written.onsets
        behind = onsets.numerator / onsets.denominator >= grid.cut[onsets.beat]
        bars = max(bars, int((grid.bar_index[onsets.beat] + behind).max()) + 1)
    return bars


def note_places(part: PlayedPart, measures: Measures) -> list[Fraction]:
    """Where each note stands on the page, quarters from the start of the music."""
    written, meter = part.written, part.timeline.meter
    if written is None:
        return _rough_places(part, measures, meter)
    grid = written.grid
    first = np.searchsorted(grid.bar_index, grid.bar_index)
    exact = _exact_shares(part, written) if written.is_quantised else {}
    places = []
    for note, beat in enumerate(written.onsets.beat.tolist()):
        bar_index = int(grid.bar_index[beat])
        unit = measures.bars[bar_index].shape.beat
        share = _printable(exact.get(note, written.position(note)), unit)
        places.append(measures.place(bar_index, (beat - int(first[beat]) + share) * unit))
    return places


def _exact_shares(part: PlayedPart, written: WrittenRhythm) -> dict[int, Fraction]:
    """Places in the beat of notes that a machine put elsewhere than the rhythm names.

    A beat whose halves are cut differently, as in two and five, has no division of its own.
    """
    grid, onsets = written.grid, written.onsets
    ticks = part.notes.onset_ticks.astype(np.float64)
    within = (ticks - grid.ticks[onsets.beat]) / grid.unit_ticks[onsets.beat]
    slack = _SAME_PLACE_TICKS / grid.unit_ticks[onsets.beat]
    off = np.abs(within - onsets.numerator / onsets.denominator)
    is_off = (off > slack) & (onsets.kind == _PLAIN) & (within >= 0) & (within <= 1)
    shares = {}
    for note in np.flatnonzero(is_off).tolist():
        share = float(within[note])
        named = (Fraction(round(share * parts), parts) for parts in _PARTS_OF_BEAT)
        exact = next((f for f in named if abs(float(f) - share) <= slack[note]), None)
        if exact is not None:
            shares[note] = exact
    return shares


def _printable(share: Fraction, beat: Fraction) -> Fraction:
    """A place in a beat that there are note values for; only damaged music has others."""
    odd = share.denominator
    while odd % 2 == 0:
        odd //= 2
    fine = share.denominator // odd * 2 ** max(odd.bit_length() - 1, 0)
    if beat / fine >= 2 * FINEST:
        return share
    return Fraction(round(share * _FINE_PARTS), _FINE_PARTS)


def _rough_places(part: PlayedPart, measures: Measures, meter: MeterMap | None) -> list[Fraction]:
    if meter is None:
        quarters = part.notes.onset_s * _QUARTERS_PER_S
        return [Fraction(round(q * _ROUGH_PARTS), _ROUGH_PARTS) for q in quarters.tolist()]
    bars = meter.bar_index(part.notes.onset_ticks)
    past = (part.notes.onset_ticks - meter.bar_start(bars)) / meter.ticks_per_quarter
    return [
        measures.place(bar, Fraction(round(within * _ROUGH_PARTS), _ROUGH_PARTS))
        for bar, within in zip(bars.tolist(), past.tolist(), strict=True)
    ]


def sounding_quarters(part: PlayedPart) -> list[float]:
    """How long each key is down, quarters."""
    notes, meter = part.notes, part.timeline.meter
    if meter is None:
        return [float(s) * _QUARTERS_PER_S for s in notes.duration_s]
    ticks = notes.release_ticks - notes.onset_ticks
    return [float(t) / meter.ticks_per_quarter for t in ticks]


def _list_bars(timeline: Timeline, count: int) -> list[Measure]:
    # One more, for notes that are written on the bar line behind the last bar.
    metres = _metres(timeline.meter, count + 1)
    starts = accumulate((shape.length for _, shape, _ in metres), initial=Fraction(0))
    ticks = _bar_ticks(timeline, len(metres))
    return [
        Measure(start, metre, shape, is_implicit, tick)
        for start, (metre, shape, is_implicit), tick in zip(starts, metres, ticks, strict=False)
    ]


def _bar_ticks(timeline: Timeline, count: int) -> list[int]:
    if timeline.meter is None:
        seconds = np.arange(count) * 4 / _QUARTERS_PER_S
        return [int(tick) for tick in timeline.tempo.ticks_at(seconds)]
    return [int(tick) for tick in timeline.meter.bar_start(np.arange(count))]


def _metres(meter: MeterMap | None, count: int) -> list[tuple[tuple[int, int], BarShape, bool]]:
    if meter is None:
        return [((4, 4), bar_shape(4, 4), False)] * count
    found: list[tuple[tuple[int, int], BarShape, bool]] = []
    for piece in range(len(meter.ticks)):
        metre = int(meter.numerators[piece]), int(meter.denominators[piece])
        full = bar_shape(*metre)
        is_last = piece + 1 == len(meter.ticks)
        # A signature starts a bar, so every piece but the last has its own number of bars.
        whole = count if is_last else int(np.diff(meter.first_bar_index)[piece])
        bars = min(whole, count - len(found))
        found += [(metre, full, False)] * bars
        if bars == whole > 0 and not is_last:
            length = _last_length(meter, piece, bars)
            if length < full.length:
                found[-1] = (metre, bar_shape(*metre, length), True)
    return _with_pick_up(found, len(meter.ticks) > 1 and int(meter.first_bar_index[1]) == 1)


def _last_length(meter: MeterMap, piece: int, bars: int) -> Fraction:
    """Quarters of the last bar before the next signature."""
    begins = float(meter.ticks[piece]) + (bars - 1) * float(meter.bar_ticks[piece])
    quarters = (float(meter.ticks[piece + 1]) - begins) / meter.ticks_per_quarter
    parts = max(round(quarters * _SHORT_BAR_PARTS), 1)
    return Fraction(parts, _SHORT_BAR_PARTS)


def _with_pick_up(
    bars: list[tuple[tuple[int, int], BarShape, bool]], is_one_bar: bool
) -> list[tuple[tuple[int, int], BarShape, bool]]:
    """A first bar with a shorter signature of its own is a pick-up to the second one's metre."""
    if is_one_bar and len(bars) > 1 and bars[0][1].length < bars[1][1].length:
        metre = bars[1][0]
        own = bars[0][1]
        bars[0] = (metre, BarShape(own.length, own.beat, own.is_compound), True)
    return bars
