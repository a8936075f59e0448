import numpy as np

from mockcheck.infer.sonorities import find_sonorities
from mockcheck.infer.tails import find_part_ends
from mockcheck.infer.thick_passages import ThickPassages, find_thick_passages
from mockcheck.instruments import instrument
from tests.infer.tracks import Row, line, notes_of


def passages(*rows: Row, player: str = "violin", group: tuple[int, ...] = ()) -> ThickPassages:
    notes = notes_of(*rows)
    ends = find_part_ends(notes, np.zeros(len(notes), np.int64))
    groups = np.array(group or [0] * len(notes), np.int64)
    return find_thick_passages(
        notes, ends, find_sonorities(notes, ends), instrument(player), groups
    )


def doubled(upper: list[int], lower: list[int], gap_s: float = 0.5) -> list[Row]:
    return [*line(upper, gap_s), *line(lower, gap_s)]


def test_a_line_has_no_thick_passage() -> None:
    assert len(passages(*line([72, 74, 76], 0.5))) == 0
    assert len(passages()) == 0


def test_chords_that_follow_closely_are_one_passage() -> None:
    rows = [(60, 0, 0.9), (69, 0, 0.9), (72, 1, 2), (60, 2.5, 3), (69, 2.5, 3)]
    close = passages(*rows)
    assert len(close) == 1
    assert (close.first_row[0], close.last_row[0]) == (0, 2)
    far = passages(*rows, (60, 6, 7), (69, 6, 7))
    assert far.first_row.tolist() == [0, 3]


def test_a_chord_that_one_hand_cannot_hold_is_marked() -> None:
    assert passages((57, 0, 1), (60, 0, 1)).is_unplayable.tolist() == [True]
    assert passages((62, 0, 1), (69, 0, 1)).is_unplayable.tolist() == [False]
    # What lies out of range is the range's business, and a body of strings has many hands.
    assert passages((40, 0, 1), (60, 0, 1)).is_unplayable.tolist() == [False]
    assert passages((57, 0, 1), (60, 0, 1), player="strings").is_unplayable.tolist() == [False]


def test_wide_chords_are_hard_for_their_share_of_the_time() -> None:
    easy, wide = [(62, 0, 1), (69, 0, 1)], [(65, 1, 2), (81, 1, 2)]
    found = passages(*easy, *wide)
    assert not found.is_unplayable[0]
    assert 0.4 < found.hard_share[0] < 0.6


def test_a_note_that_moves_against_a_held_one_is_independent() -> None:
    moving = line([72, 74, 77, 79], 0.5, begin_s=0.0)
    assert passages((65, 0, 1.9), *moving).independent.tolist() == [3]
    # The open D under a melody is a drone, and one hand plays it.
    assert passages((62, 0, 1.9), *moving).independent.tolist() == [0]
    assert passages(*doubled([72, 74, 76, 77], [65, 67, 69, 71])).independent.tolist() == [0]


def test_open_strings_are_counted_by_time() -> None:
    found = passages((62, 0, 1), (69, 0, 1), (65, 1, 2), (72, 1, 2))
    assert np.isclose(found.open_share[0], 0.5, atol=0.01)


def test_three_notes_held_long_are_sustained_and_short_ones_not() -> None:
    chord = (55, 62, 71)
    assert passages(*((pitch, 0, 3) for pitch in chord)).sustained_share.tolist() == [1.0]
    assert passages(*((pitch, 0, 0.8) for pitch in chord)).sustained_share.tolist() == [0.0]
    assert passages((55, 0, 3), (62, 0, 3)).sustained_share.tolist() == [0.0]


def test_rate_and_motion_are_those_of_the_chords() -> None:
    found = passages(*doubled([72, 74, 72, 74], [64, 65, 64, 65], gap_s=0.25))
    assert np.isclose(found.per_s[0], 4, atol=0.3)
    assert found.motion_semitones.tolist() == [3.0]
    still = passages(*doubled([72, 72], [64, 64]))
    assert still.motion_semitones.tolist() == [0.0]


def test_notes_of_two_groups_are_mixed() -> None:
    rows = doubled([72, 74], [64, 65])
    assert passages(*rows).on_tracks_share.tolist() == [0.0]
    # In order of time and pitch the notes of the lower line come first.
    assert passages(*rows, group=(1, 0, 1, 0)).on_tracks_share.tolist() == [1.0]
