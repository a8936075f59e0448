from dataclasses import replace
from itertools import pairwise
from operator import add

import pytest
from hypothesis import given
from hypothesis import strategies as st

from mockcheck.playing.demands import Contact, Grade
from mockcheck.playing.fingerboard import Fingerboard
from mockcheck.playing.hand import BASS_HAND, CELLO_HAND, VIOLA_HAND, VIOLIN_HAND, Hand, Thumb
from mockcheck.playing.holding import Hold, OutOfReach, contacts, find_hold, string_choices

VIOLIN = Fingerboard((76, 69, 62, 55), 328.0)
VIOLA = Fingerboard((69, 62, 55, 48), 375.0)
CELLO = Fingerboard((57, 50, 43, 36), 690.0)
BASS = Fingerboard((43, 38, 33, 28), 1060.0)
BASS_OF_FIVE = Fingerboard((43, 38, 33, 28, 23), 1060.0)
PLAYERS = [
    (VIOLIN, VIOLIN_HAND),
    (VIOLA, VIOLA_HAND),
    (CELLO, CELLO_HAND),
    (BASS, BASS_HAND),
    (BASS_OF_FIVE, BASS_HAND),
]


@st.composite
def chords(draw: st.DrawFn) -> tuple[Fingerboard, Hand, tuple[int, ...]]:
    board, hand = draw(st.sampled_from(PLAYERS))
    strings = draw(st.sets(st.integers(0, len(board.open_strings) - 1), min_size=1))
    pitches = [board.open_strings[string] + draw(st.integers(0, 20)) for string in strings]
    return board, hand, tuple(sorted(pitches))


def opened(hand: Hand, factor: float) -> Hand:
    def wider(reaches_mm: tuple[float, ...]) -> tuple[float, ...]:
        return tuple(reach_mm * factor for reach_mm in reaches_mm)

    thumb = hand.thumb
    if thumb is not None:
        first, second, third = wider(thumb.comfortable_mm)
        far_first, far_second, far_third = wider(thumb.widest_mm)
        thumb = Thumb((first, second, third), (far_first, far_second, far_third))
    return replace(
        hand,
        easy_two_mm=hand.easy_two_mm * factor,
        easy_more_mm=hand.easy_more_mm * factor,
        comfortable_mm=wider(hand.comfortable_mm),
        widest_mm=wider(hand.widest_mm),
        tenth_mm=hand.tenth_mm * factor,
        thumb=thumb,
    )


def grade(found: Hold | OutOfReach | None) -> Grade:
    return found.grade if isinstance(found, Hold) else Grade.IMPOSSIBLE


def test_one_finger_stops_neighbouring_strings_at_the_same_place() -> None:
    # A3 E4 C#5 on G, D and A: a bar at the whole tone and one finger above it.
    assert contacts((3, 2, 1), (2, 2, 4)) == (Contact(2, (2, 3)), Contact(4, (1,)))


def test_strings_apart_need_a_finger_each_even_at_the_same_place() -> None:
    assert contacts((3, 2, 1), (2, 0, 2)) == (Contact(2, (1,)), Contact(2, (3,)))


def test_open_strings_need_no_finger() -> None:
    assert contacts((3, 2), (0, 0)) == ()


def test_a_bow_only_reaches_neighbouring_strings() -> None:
    assert list(string_choices(VIOLIN, (55, 62))) == [(3, 2)]
    # A4 is open on A, stopped on D or on G; with the open G only the D string is a neighbour.
    assert list(string_choices(VIOLIN, (55, 69))) == [(3, 2)]
    assert list(string_choices(VIOLIN, (55, 95))) == []
    assert find_hold(VIOLIN, VIOLIN_HAND, (55, 95)) is None


def test_a_unison_takes_an_open_and_a_stopped_string() -> None:
    # Forsyth, Orchestration (1914) pp. 316-317: A4 open and stopped, in common use for force.
    found = find_hold(VIOLIN, VIOLIN_HAND, (69, 69))
    assert isinstance(found, Hold)
    assert sorted(found.stops) == [0, 7]
    assert found.grade == Grade.EASY


def test_a_tenth_opens_towards_the_higher_string_only() -> None:
    # A3-C5 (108 mm) leans forward; the same distance back across the strings is out of reach.
    assert isinstance(find_hold(VIOLIN, VIOLIN_HAND, (57, 72)), Hold)
    back = find_hold(VIOLIN, VIOLIN_HAND, (64, 64))
    assert isinstance(back, OutOfReach)
    assert back.evidence.unit == "mm"
    assert back.evidence.measured == pytest.approx(back.stretch_mm)


def test_three_fingers_on_the_neck_are_all_a_bass_player_has() -> None:
    # Five strings, the middle one open between four different stops.
    found = find_hold(BASS_OF_FIVE, BASS_HAND, (24, 30, 33, 39, 45))
    assert isinstance(found, OutOfReach)
    assert (found.evidence.quantity, found.evidence.measured) == ("fingers needed", 4)


def test_one_finger_does_not_stop_four_strings() -> None:
    found = find_hold(VIOLIN, VIOLIN_HAND, (57, 64, 71, 78))
    assert isinstance(found, OutOfReach)
    assert (found.evidence.quantity, found.evidence.measured) == ("strings under one finger", 4)


@given(st.tuples(*(st.integers(0, 14) for _ in range(4))))
def test_no_stopped_tenth_fits_into_four_notes(stops: tuple[int, int, int, int]) -> None:
    # Common practice, no source: such a chord has to be divided.
    pitches = tuple(sorted(map(add, (55, 62, 69, 76), stops)))
    found = find_hold(VIOLIN, VIOLIN_HAND, pitches)
    if not isinstance(found, Hold):
        return
    by_string = dict(zip(found.strings, found.stops, strict=True))
    for string in range(3):
        high, low = by_string[string], by_string[string + 1]
        # Strings lie a fifth apart: a tenth between them is eight or nine semitones further up.
        assert 0 in (high, low) or high - low < 8


def test_four_notes_with_a_stopped_tenth_are_out_of_reach() -> None:
    # A3 C5 on G and D, with D5 and F#5 above.
    found = find_hold(VIOLIN, VIOLIN_HAND, (57, 72, 74, 78))
    assert isinstance(found, OutOfReach)
    assert found.evidence.measured == 8


@given(chords())
def test_a_hold_can_be_checked_note_by_note(
    case: tuple[Fingerboard, Hand, tuple[int, ...]],
) -> None:
    board, hand, pitches = case
    found = find_hold(board, hand, pitches)
    if not isinstance(found, Hold):
        return
    rows = list(zip(pitches, found.strings, found.stops, found.fingers, strict=True))
    assert all(board.open_strings[s] + stop == pitch for pitch, s, stop, _ in rows)
    assert max(found.strings) - min(found.strings) == len(set(found.strings)) - 1
    assert len(set(found.strings)) == len(pitches)
    assert all((finger == 0) == (stop == 0) for *_, stop, finger in rows)
    stopped = sorted((stop, finger, string) for _, string, stop, finger in rows if stop)
    for (low, lower, string), (high, higher, other) in pairwise(stopped):
        assert lower < higher or low == high
        if lower == higher:
            # One finger lies on one place, across strings that touch.
            assert abs(string - other) == 1
    # Ideal string: distance from the nut L (1 - 2^(-n/12)).
    places_mm = [board.string_length_mm * (1 - 2 ** (-stop / 12)) for stop, *_ in stopped]
    expected_mm = places_mm[-1] - places_mm[0] if places_mm else 0.0
    assert found.stretch_mm == pytest.approx(expected_mm)
    assert found.stretch_mm <= hand.tenth_mm


@given(chords(), st.floats(1.0, 2.0))
def test_a_hand_that_opens_wider_never_does_worse(
    case: tuple[Fingerboard, Hand, tuple[int, ...]], factor: float
) -> None:
    board, hand, pitches = case
    wider = find_hold(board, opened(hand, factor), pitches)
    assert grade(wider) <= grade(find_hold(board, hand, pitches))


@given(chords())
def test_a_chord_stays_within_reach_when_the_note_of_an_outer_string_is_left_out(
    case: tuple[Fingerboard, Hand, tuple[int, ...]],
) -> None:
    board, hand, pitches = case
    found = find_hold(board, hand, pitches)
    if not isinstance(found, Hold) or len(pitches) == 1:
        return
    for outer in (min(found.strings), max(found.strings)):
        left = list(pitches)
        left.pop(found.strings.index(outer))
        assert isinstance(find_hold(board, hand, tuple(left)), Hold)


@given(st.integers(55, 90), st.integers(0, 26))
def test_two_stopped_or_open_notes_are_reached_exactly_when_arithmetic_says_so(
    low: int, interval: int
) -> None:
    # Written out once more, without fingers: some two neighbouring strings have the notes, and
    # their stops are no further apart than the hand opens.
    reachable = False
    for lower_string, higher_string in ((55, 62), (62, 69), (69, 76)):
        for first, second in ((low, low + interval), (low + interval, low)):
            down, up = first - lower_string, second - higher_string
            if not (0 <= down <= 31 and 0 <= up <= 31):
                continue
            if 0 in (down, up):
                reachable = True
                continue
            stretch_mm = abs(328 * (2 ** (-down / 12) - 2 ** (-up / 12)))
            limit_mm = VIOLIN_HAND.tenth_mm if up >= down else VIOLIN_HAND.widest_mm[-1]
            reachable |= stretch_mm <= limit_mm and abs(up - down) <= 9
    pair = tuple(sorted((low, low + interval)))
    assert isinstance(find_hold(VIOLIN, VIOLIN_HAND, pair), Hold) == reachable
