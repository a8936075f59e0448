import numpy as np

from mockcheck.infer.presses import Presses, describe_presses
from tests.infer.tracks import Row, line, notes_of

MELODY = line([62, 64, 66, 67, 69, 71], 1.0, begin_s=0.0)


def press(row: Row, music: list[Row] = MELODY, lowest: int = 55) -> Presses:
    notes = notes_of(*music, row)
    rows = np.flatnonzero(notes.pitch < lowest)
    outside = lowest - notes.pitch[rows].astype(np.int64)
    return describe_presses(notes, rows, outside, outside <= 12)


def without(place: int) -> list[Row]:
    return [row for number, row in enumerate(MELODY) if number != place]


def test_a_tap_just_before_a_note_is_beside_the_music() -> None:
    assert press((50, 2.85, 2.98)).is_beside.all()


def test_a_tap_with_a_longer_note_is_beside_the_music() -> None:
    assert press((50, 2.0, 2.1)).is_beside.all()


def test_a_tap_under_one_long_note_is_beside_the_music() -> None:
    assert press((50, 2.5, 2.6)).is_beside.all()


def test_a_tap_in_a_rest_before_a_note_is_beside_the_music() -> None:
    assert press((50, 2.8, 2.9), without(2)).is_beside.all()


def test_a_key_held_under_the_music_may_be_a_bass() -> None:
    assert not press((50, 2.8, 4.5)).is_beside.any()


def test_a_note_in_its_own_place_is_of_the_line() -> None:
    low = press((50, 2.0, 2.9), without(2))
    assert low.is_in_line.all()
    assert low.is_line.all()
    assert not low.is_beside.any()


def test_a_short_note_in_its_own_place_is_of_the_line() -> None:
    fast = line([62, 64, 66, 67], 0.125, begin_s=0.0)
    low = press((50, 0.25, 0.36), [row for row in fast if row[0] != 66])
    assert not low.is_beside.any()


def test_a_slurred_note_is_of_the_line_although_it_overlaps_both_sides() -> None:
    slurred = line([62, 64, 66, 67, 69], 0.5, share=1.1, begin_s=0.0)
    low = press((50, 1.0, 1.55), [row for row in slurred if row[0] != 66])
    assert not low.is_beside.any()


def test_a_chord_tone_as_long_as_its_chord_is_not_beside_the_music() -> None:
    assert not press((50, 2.0, 2.9)).is_beside.any()


def test_among_chords_a_short_low_note_under_a_long_one_is_music() -> None:
    chords = [row for pitch in (62, 69) for row in line([pitch, pitch + 2] * 6, 1.0, begin_s=0.0)]
    assert not press((50, 2.0, 2.2), chords).is_beside.any()


def test_several_low_notes_in_a_row_are_a_line() -> None:
    music = [row for row in MELODY if not 2 <= row[1] < 5]
    notes = notes_of(*music, *line([50, 52, 53], 1.0, begin_s=2.0))
    rows = np.flatnonzero(notes.pitch < 55)
    outside = 55 - notes.pitch[rows].astype(np.int64)
    found = describe_presses(notes, rows, outside, outside <= 12)
    assert found.run_notes.tolist() == [3, 3, 3]
    assert found.is_line.all()
