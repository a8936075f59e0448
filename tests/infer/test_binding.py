import numpy as np
import pytest

from mockcheck.infer.binding import Binding, binding_movement
from mockcheck.infer.bottleneck import best_path
from mockcheck.infer.search import Search
from tests.infer.searching import TIMES, search_of
from tests.phrases import phrase

PART = phrase("violin 4/4 q=96 | A4:4 |")


def binding(pitches: list[int], gap_s: float, stroke: str = "slurred") -> Binding:
    search = search_of(pitches, gap_s, stroke)
    path, ratio = best_path(search, search.line.gap_s)
    return binding_movement(PART, search, search.line.gap_s, path, int(ratio.argmax()))


def test_a_leap_is_a_shift_in_mm_between_two_named_notes() -> None:
    found = binding([57, 97], 0.1)
    assert found.words.startswith("a shift of ")
    assert found.words.endswith(" mm from A3 to C#7")
    assert found.available_s == pytest.approx(0.1)
    assert found.needed_s > 0.1


def test_separate_bows_in_one_position_are_held_back_by_the_bow() -> None:
    assert binding([69, 71, 72, 74], 0.1, "separate").words.startswith("the bow change from ")


def placed(search: Search, event: int, string: int, finger: int, place: int) -> int:
    """Row of the placement of a single note by string, finger and semitones under the hand."""
    side = search.placements_of(event)
    place_mm = search.board.places_mm[place]
    is_there = (side.stop[:, string] >= 0) & (side.finger[:, string] == finger)
    return int(np.flatnonzero(is_there & np.isclose(side.hand_mm, place_mm))[0])


def test_a_finger_wanted_again_elsewhere_is_told_with_the_note_between() -> None:
    search = search_of([64, 67, 65], 0.05)
    path = np.array([placed(search, event, 2, finger, 3) for event, finger in enumerate((1, 3, 1))])
    found = binding_movement(PART, search, search.line.gap_s, path, 1)
    assert found.words == "the finger that has to come back, from E4 over G4 to F4"
    assert found.needed_s == TIMES.finger_elsewhere_s
    assert found.available_s == pytest.approx(0.1)


def test_a_bow_that_comes_back_is_told_as_the_bow() -> None:
    search = search_of([55, 62, 55], 0.05)
    open_strings = [
        int(np.flatnonzero((side.stop == 0).any(axis=1))[0])
        for side in map(search.placements_of, range(3))
    ]
    found = binding_movement(PART, search, search.line.gap_s, np.array(open_strings), 1)
    assert found.words == "the bow that has to come back, from G3 over D4 to G3"
    assert found.needed_s == TIMES.crossing_back_s
