"""Lengths as note values that show the beats: ties, dots and tuplets.

Source: notation practice as players expect it, after G. Read, Music Notation, and E. Gould, Behind
Bars (both from memory): the middle of the bar is shown, what begins off the beat shows the next
beat, and only the plain syncopation (short, long, short) may hide it.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from math import lcm, log

from mockcheck.model.notated import Tuplet

FINEST = Fraction(1, 256)
"""Shortest note value there is a name for, quarters."""
VALUE_NAMES = {
    Fraction(8): "breve",
    Fraction(4): "whole",
    Fraction(2): "half",
    Fraction(1): "quarter",
    Fraction(1, 2): "eighth",
    **{Fraction(4, parts): f"{parts}th" for parts in (16, 64, 128, 256, 512)},
    Fraction(1, 8): "32nd",
    Fraction(1, 256): "1024th",
}
_DOTS = {0: Fraction(1), 1: Fraction(3, 2), 2: Fraction(7, 4)}
_PRINTABLE = {
    value * factor: (name, dots)
    for value, name in VALUE_NAMES.items()
    for dots, factor in _DOTS.items()
}
_LENGTHS = sorted(_PRINTABLE)
_QUARTER, _HALF = 4, 2


@dataclass(frozen=True)
class BarShape:
    """What the eye looks for in a bar.

    Parameters
    ----------
    length
        Quarters.
    beat
        Length of a beat, quarters; the last beat of a bar cut short may be shorter.
    is_compound
        Beats divide by three.
    groups
        Places inside the bar that group its beats, like the middle of a bar in four.
    """

    length: Fraction
    beat: Fraction
    is_compound: bool = False
    groups: tuple[Fraction, ...] = ()

    def unit(self, level: int) -> Fraction:
        """Distance of the points of a level from 1 on: beats, their halves or thirds, and so on."""
        if level == 1:
            return self.beat
        parts = (3 if self.is_compound else 2) << (level - 2)
        return self.beat / parts

    def is_on(self, level: int, place: Fraction) -> bool:
        """Whether a place is a point of a level or of a stronger one; 0 is that of groups."""
        if place in (0, self.length) or place in self.groups:
            return True
        return level > 0 and place % self.unit(level) == 0

    def beats(self) -> list[tuple[Fraction, Fraction]]:
        """Where each beat begins and ends."""
        count = -(-self.length // self.beat)
        return [(k * self.beat, min((k + 1) * self.beat, self.length)) for k in range(count)]


def bar_shape(numerator: int, denominator: int, length: Fraction | None = None) -> BarShape:
    """Beats and groups of a metre: quarters, or dotted values where it divides by three.

    Parameters
    ----------
    numerator, denominator
        As printed, positive.
    length
        Quarters that are there, where the bar is not full.
    """
    printed = Fraction(4, denominator)
    full = numerator * printed
    if denominator <= _QUARTER:
        beat, is_compound = Fraction(1), False
    elif numerator % 3 == 0:
        beat, is_compound = 3 * printed, True
    else:
        beat, is_compound = (2 * printed if numerator % 2 == 0 else printed), False
    count = int(full / beat)
    group = full / 2 if count >= 4 and count % 2 == 0 else full
    if denominator <= _HALF:
        group = printed
    length = full if length is None else length
    inner = range(1, -(-length // group))
    return BarShape(length, beat, is_compound, tuple(k * group for k in inner))


@dataclass(frozen=True)
class Piece:
    """One note value: where it begins, how long it lasts (quarters), and how it is written."""

    start: Fraction
    length: Fraction
    value: str
    dots: int
    tuplet: Tuplet | None = None


@dataclass(frozen=True)
class _Bracket:
    """A tuplet from `start` to `end`; `shape` is its inside in written values."""

    start: Fraction
    end: Fraction
    actual: int
    normal: int

    @property
    def stretch(self) -> Fraction:
        """Written length over real length."""
        return Fraction(self.actual, self.normal)

    @property
    def shape(self) -> BarShape:
        written = (self.end - self.start) * self.stretch
        return BarShape(written, written / self.actual)


def write_out(
    shape: BarShape, spans: Sequence[tuple[Fraction, Fraction, bool]]
) -> list[list[Piece]]:
    """Note values for the notes and rests of one voice of a bar.

    Parameters
    ----------
    shape
        The bar.
    spans
        (start, end, is a rest), quarters, following each other from 0 to the end of the bar. Places
        must be multiples of `FINEST` within some tuplet of a beat.

    Returns
    -------
    For each span its pieces in order; those of a note are to be tied.

    Not modelled: tuplets inside tuplets; tuplets over more than two beats.
    """
    brackets = _find_brackets(shape, sorted({span[0] for span in spans} | {shape.length}))
    written = [_write_span(shape, brackets, *span) for span in spans]
    flat = [piece for pieces in written for piece in pieces]
    starts = {bracket.start for bracket in brackets}
    ends = {bracket.end for bracket in brackets}
    marked = iter([_marked(piece, starts, ends) for piece in flat])
    return [[next(marked) for _ in pieces] for pieces in written]


def _marked(piece: Piece, starts: set[Fraction], ends: set[Fraction]) -> Piece:
    if piece.tuplet is None:
        return piece
    tuplet = Tuplet(
        piece.tuplet.actual,
        piece.tuplet.normal,
        is_start=piece.start in starts,
        is_stop=piece.start + piece.length in ends,
    )
    return Piece(piece.start, piece.length, piece.value, piece.dots, tuplet)


def _write_span(
    shape: BarShape, brackets: list[_Bracket], start: Fraction, end: Fraction, is_rest: bool
) -> list[Piece]:
    pieces: list[Piece] = []
    here = start
    while here < end:
        bracket = next((b for b in brackets if b.start <= here < b.end), None)
        if bracket is None:
            stop = min([end, *(b.start for b in brackets if b.start > here)])
            pieces += _split(shape, here, stop, is_rest)
        else:
            stop = min(end, bracket.end)
            stretch, tuplet = bracket.stretch, Tuplet(bracket.actual, bracket.normal)
            pieces += [
                Piece(
                    bracket.start + piece.start / stretch,
                    piece.length / stretch,
                    piece.value,
                    piece.dots,
                    tuplet,
                )
                for piece in _split(
                    bracket.shape,
                    (here - bracket.start) * stretch,
                    (stop - bracket.start) * stretch,
                    is_rest,
                )
            ]
        here = stop
    return pieces


def _split(shape: BarShape, start: Fraction, end: Fraction, is_rest: bool) -> list[Piece]:
    """The longest value that hides nothing, then the next."""
    pieces: list[Piece] = []
    while start < end:
        fitting = _LENGTHS[: bisect_right(_LENGTHS, end - start)]
        length = next(
            value
            for value in reversed(fitting)
            if (
                may_rest(shape, start, start + value)
                if is_rest
                else may_stand(shape, start, start + value, end)
            )
        )
        pieces.append(Piece(start, length, *_PRINTABLE[length]))
        start += length
    return pieces


def may_stand(shape: BarShape, start: Fraction, end: Fraction, whole_end: Fraction) -> bool:
    """Whether one note value may go from `start` to `end` and hide no beat it must show.

    `whole_end` is where the whole note ends: only a note that needs no tie may cover the middle of
    a bar from another beat than the first.
    """
    if any(start < point < end for point in shape.groups):
        is_plain = start % shape.beat == end % shape.beat == 0
        return is_plain and (shape.is_on(0, start) or end == whole_end)
    level = _strongest_hidden(shape, start, end)
    if shape.is_compound and level == 1:
        return shape.is_on(1, start) and shape.is_on(1, end)
    if shape.is_on(level, start):
        deepest = level + 2 if shape.is_on(level - 1, start) else level + 1
        return shape.is_on(deepest, end)
    is_syncopation = end - start == shape.unit(level) or shape.is_on(level - 1, end)
    return shape.is_on(level + 1, start) and is_syncopation


def _strongest_hidden(shape: BarShape, start: Fraction, end: Fraction) -> int:
    """The first level that has a point strictly inside."""
    level = 1
    while (start // shape.unit(level) + 1) * shape.unit(level) >= end:
        level += 1
    return level


def may_rest(shape: BarShape, start: Fraction, end: Fraction) -> bool:
    """Whether one rest may go from `start` to `end`: rests fill beats, and never syncopate."""
    length = end - start
    if length > shape.beat:
        is_group = shape.is_on(0, start) and shape.is_on(0, end)
        hides = any(start < point < end for point in shape.groups)
        return is_group and not hides and length in VALUE_NAMES | _dotted(shape)
    if shape.is_compound:
        if length == shape.beat:
            return shape.is_on(1, start)
        if length == 2 * shape.unit(2):
            return shape.is_on(1, start)
    return length in VALUE_NAMES and start % length == 0


def _dotted(shape: BarShape) -> dict[Fraction, str]:
    return {value * _DOTS[1]: name for value, name in VALUE_NAMES.items() if shape.is_compound}


def _find_brackets(shape: BarShape, edges: Sequence[Fraction]) -> list[_Bracket]:
    """Tuplets that the places of a voice ask for, in order."""
    beats = shape.beats()
    brackets: list[_Bracket] = []
    skip = False
    for number, (start, end) in enumerate(beats):
        if skip:
            skip = False
            continue
        two = (start, beats[number + 1][1]) if number + 1 < len(beats) else None
        if two is not None and _is_broad_triplet(shape, *two, edges):
            brackets.append(_Bracket(*two, 3, 2))
            skip = True
        else:
            brackets += _brackets_within(start, end, [p for p in edges if start <= p < end])
    return brackets


def _is_broad_triplet(
    shape: BarShape, start: Fraction, end: Fraction, edges: Sequence[Fraction]
) -> bool:
    """Three equal parts of two beats, and nothing finer."""
    if shape.is_compound or end - start != 2 * shape.beat:
        return False
    if start + shape.beat in shape.groups or not _is_binary(shape.beat):
        return False
    places = {(place - start) / (end - start) for place in edges if start < place < end}
    return bool(places) and places <= {Fraction(1, 3), Fraction(2, 3)}


def _brackets_within(start: Fraction, end: Fraction, edges: list[Fraction]) -> list[_Bracket]:
    """Tuplets of one beat or a part of it: the shortest that hide no onset."""
    length = end - start
    parts = lcm(*((place - start).denominator for place in edges)) if edges else 1
    odd = length.numerator
    shares = lcm(*(((place - start) / length).denominator for place in edges)) if edges else 1
    is_duplet = odd > 1 and shares >= 4 and _is_binary(Fraction(shares))
    if _is_binary(Fraction(parts)) and not is_duplet:
        return []
    count = 2 if odd == 1 else odd
    points = [start + k * length / count for k in range(count + 1)]
    if not is_duplet and all(point in edges for point in points[1:-1]):
        return [
            bracket
            for low, high in pairwise(points)
            for bracket in _brackets_within(low, high, [p for p in edges if low <= p < high])
        ]
    if is_duplet:
        return [_Bracket(start, end, shares, shares // 2 * odd)]
    actual = shares
    while actual % 2 == 0:
        actual //= 2
    return [_Bracket(start, end, actual, _normal(actual, odd))]


def _normal(actual: int, odd: int) -> int:
    """In the time of how many: plain parts of the beat, the next fewer; dotted ones, the nearest.

    `odd` is 1 for a beat that divides by two, 3 for a dotted one.
    """
    if odd == 1:
        return 1 << ((actual - 1).bit_length() - 1)
    choices = [odd << power for power in range(actual.bit_length() + 1)]
    return min(choices, key=lambda normal: abs(log(normal / actual)))


def _is_binary(number: Fraction) -> bool:
    """A power of two, or a half, a quarter."""
    return all(n & (n - 1) == 0 for n in (number.numerator, number.denominator))
