from fractions import Fraction
from itertools import pairwise
from math import lcm

import pytest
from hypothesis import given
from hypothesis import strategies as st

from mockcheck.infer.beat_grid import find_beats
from mockcheck.notation.values import (
    VALUE_NAMES,
    BarShape,
    Piece,
    bar_shape,
    may_rest,
    may_stand,
    write_out,
)
from tests.phrases import phrase

METRES = [(2, 4), (3, 4), (4, 4), (5, 4), (6, 4), (2, 2), (3, 2), (4, 2), (3, 8), (4, 8), (5, 8)]
METRES += [(6, 8), (7, 8), (9, 8), (12, 8), (5, 16), (6, 16)]
DIVISIONS = (1, 1, 2, 3, 4, 5, 6, 7, 8, 9, 12, 20)
LENGTHS = {name: length for length, name in VALUE_NAMES.items()}
DOTTED = {0: Fraction(1), 1: Fraction(3, 2), 2: Fraction(7, 4)}
Spans = list[tuple[Fraction, Fraction, bool]]


def values(shape: BarShape, *places: object, rests: tuple[object, ...] = ()) -> list[list[str]]:
    starts = [Fraction(str(place)) for place in places]
    silent = {Fraction(str(place)) for place in rests}
    ends = [*starts[1:], shape.length]
    spans = [(start, end, start in silent) for start, end in zip(starts, ends, strict=True)]
    return [[_name(piece) for piece in pieces] for pieces in write_out(shape, spans)]


def _name(piece: Piece) -> str:
    ratio = f" {piece.tuplet.actual}:{piece.tuplet.normal}" if piece.tuplet else ""
    return piece.value + "." * piece.dots + ratio


@pytest.mark.parametrize(
    ("metre", "places", "expected"),
    [
        ((4, 4), (0, "1/2", "5/2"), [["eighth"], ["quarter.", "eighth"], ["quarter."]]),
        ((4, 4), (0, 1, 3), [["quarter"], ["half"], ["quarter"]]),
        ((4, 4), (0, 1, "7/2"), [["quarter"], ["quarter", "quarter."], ["eighth"]]),
        ((2, 4), (0, "1/2", "3/2"), [["eighth"], ["quarter"], ["eighth"]]),
        ((4, 4), (0, "3/2", "5/2"), [["quarter."], ["eighth", "eighth"], ["quarter."]]),
        ((3, 4), (0, "3/2"), [["quarter."], ["quarter."]]),
        ((6, 8), (0, 1, 2), [["quarter"], ["eighth", "eighth"], ["quarter"]]),
        ((6, 8), (0,), [["half."]]),
        ((9, 8), (0,), [["half.", "quarter."]]),
        ((6, 8), (0, "3/4", "3/2"), [["eighth."], ["eighth."], ["quarter."]]),
        ((3, 2), (0, 1, 3), [["quarter"], ["half"], ["half."]]),
        ((12, 8), (0, "3/2"), [["quarter."], ["quarter.", "half."]]),
    ],
)
def test_notes_show_the_beats_players_look_for(
    metre: tuple[int, int], places: tuple[object, ...], expected: list[list[str]]
) -> None:
    assert values(bar_shape(*metre), *places) == expected


@pytest.mark.parametrize(
    ("metre", "places", "expected"),
    [
        ((2, 4), (0, "1/3", "2/3", 1), ["eighth 3:2"] * 3 + ["quarter"]),
        ((2, 4), (0, "2/3", "4/3"), ["quarter 3:2"] * 3),
        ((2, 4), (0, "1/6", "1/3", "1/2", 1), ["16th 3:2"] * 3 + ["eighth", "quarter"]),
        ((2, 4), (0, "1/5", "2/5", 1), ["16th 5:4", "16th 5:4", "eighth. 5:4", "quarter"]),
        ((3, 8), (0, "3/8", "3/4", "9/8"), ["16th 4:6"] * 4),
    ],
)
def test_other_divisions_are_tuplets_of_a_beat(
    metre: tuple[int, int], places: tuple[object, ...], expected: list[str]
) -> None:
    written = values(bar_shape(*metre), *places)
    assert [name for names in written for name in names] == expected


def test_rests_fill_beats_and_never_syncopate() -> None:
    four, three, six = bar_shape(4, 4), bar_shape(3, 4), bar_shape(6, 8)
    assert values(four, 0, "1/2", rests=("1/2",))[1] == ["eighth", "quarter", "half"]
    assert values(four, 0, 1, 3, rests=(1,))[1] == ["quarter", "quarter"]
    assert values(three, 0, 2, rests=(0,))[0] == ["quarter", "quarter"]
    assert values(six, 0, "1/2", 2, rests=("1/2",))[1] == ["eighth", "eighth", "eighth"]
    assert values(six, 0, 1, rests=(0,))[0] == ["quarter"]


@pytest.mark.parametrize("metre", METRES, ids=str)
def test_beats_are_those_of_the_rhythm(metre: tuple[int, int]) -> None:
    numerator, denominator = metre
    part = phrase(f"violin {numerator}/{denominator} | A4:{4 * numerator / denominator} |")
    grid = find_beats(part.timeline, 1)
    assert grid is not None
    assert part.timeline.meter is not None
    shape = bar_shape(*metre)
    assert float(shape.beat) * part.timeline.meter.ticks_per_quarter == grid.unit_ticks[0]
    assert shape.is_compound == grid.is_compound[0]


def test_a_bar_cut_short_keeps_its_beats() -> None:
    shape = bar_shape(4, 4, Fraction(5, 2))
    assert shape.groups == (Fraction(2),)
    assert [float(end) for _, end in shape.beats()] == [1, 2, 2.5]
    assert values(shape, 0, 1) == [["quarter"], ["quarter", "eighth"]]


@st.composite
def bars(draw: st.DrawFn) -> tuple[BarShape, Spans]:
    """A bar of any metre with notes and rests on any places of its beats."""
    shape = bar_shape(*draw(st.sampled_from(METRES)))
    starts = {Fraction(0)}
    for begin, end in shape.beats():
        parts = draw(st.sampled_from(DIVISIONS))
        chosen = draw(st.sets(st.integers(0, parts - 1)))
        starts |= {begin + k * (end - begin) / parts for k in chosen}
    places = sorted(starts)
    silent = draw(st.lists(st.booleans(), min_size=len(places), max_size=len(places)))
    ends = [*places[1:], shape.length]
    return shape, list(zip(places, ends, silent, strict=True))


@given(bars())
def test_pieces_fill_their_notes_and_are_as_long_as_they_say(bar: tuple[BarShape, Spans]) -> None:
    shape, spans = bar
    for (start, end, _), pieces in zip(spans, write_out(shape, spans), strict=True):
        assert pieces[0].start == start
        assert pieces[-1].start + pieces[-1].length == end
        for piece, after in pairwise(pieces):
            assert piece.start + piece.length == after.start
        for piece in pieces:
            ratio = Fraction(1)
            if piece.tuplet is not None:
                ratio = Fraction(piece.tuplet.normal, piece.tuplet.actual)
            assert LENGTHS[piece.value] * DOTTED[piece.dots] * ratio == piece.length


@given(bars())
def test_no_piece_hides_what_it_must_show(bar: tuple[BarShape, Spans]) -> None:
    shape, spans = bar
    beats = {begin for begin, _ in shape.beats()} | {shape.length}
    for (_, _, is_rest), pieces in zip(spans, write_out(shape, spans), strict=True):
        for piece in pieces:
            start, end = piece.start, piece.start + piece.length
            hidden = [beat for beat in beats if start < beat < end]
            if any(start < point < end for point in shape.groups):
                # Only from beat to beat, and never a rest.
                assert {start, end} <= beats
                assert not is_rest
            if hidden and start not in beats and piece.tuplet is None:
                assert len(hidden) == 1
                assert not shape.is_compound
                assert not is_rest
            if piece.tuplet is not None:
                assert len(hidden) <= 1


@given(bars())
def test_brackets_open_and_close_in_turn(bar: tuple[BarShape, Spans]) -> None:
    is_open = False
    for pieces in write_out(*bar):
        for piece in pieces:
            if piece.tuplet is None:
                assert not is_open
                continue
            assert piece.tuplet.is_start != is_open
            is_open = not piece.tuplet.is_stop
    assert not is_open


@given(bars())
def test_places_that_halve_the_beat_need_no_tuplet(bar: tuple[BarShape, Spans]) -> None:
    shape, spans = bar
    parts = lcm(*(start.denominator for start, _, _ in spans))
    if parts & (parts - 1) == 0 and not shape.is_compound:
        assert all(piece.tuplet is None for row in write_out(shape, spans) for piece in row)


def test_what_may_stand_is_asked_of_the_whole_note() -> None:
    four = bar_shape(4, 4)
    one, three, four_quarters = Fraction(1), Fraction(3), Fraction(4)
    assert may_stand(four, one, three, three)
    assert not may_stand(four, one, three, four_quarters)
    assert not may_rest(four, one, three)
