import numpy as np
import pytest

from mockcheck.infer.presses import MANNERS, Manner, Presses, describe_presses
from tests.infer.tracks import Row, line, notes_of

MELODY = line([62, 64, 66, 67, 69, 71], 1.0, begin_s=0.0)


def pressed(*rows: Row, music: list[Row] = MELODY, lowest: int = 55) -> Presses:
    notes = notes_of(*music, *rows)
    low = np.flatnonzero(notes.pitch < lowest)
    return describe_presses(notes, low, lowest - notes.pitch[low].astype(np.int64))


def manner(row: Row, music: list[Row] = MELODY) -> Manner:
    (found,) = pressed(row, music=music).manner
    return Manner(found)


def without(place: int) -> list[Row]:
    return [row for number, row in enumerate(MELODY) if number != place]


def test_every_manner_has_words() -> None:
    assert len(MANNERS) == len(Manner)


@pytest.mark.parametrize("lead_s", [0.01, 0.05])
def test_a_short_press_just_before_a_note_is_tapped(lead_s: float) -> None:
    assert manner((50, 3 - lead_s, 3 - lead_s + 0.1)) is Manner.TAPPED_BEFORE


def test_a_press_that_goes_down_before_a_note_and_stays_is_held() -> None:
    assert manner((50, 1.97, 4.5)) is Manner.HELD_BEFORE


def test_a_press_just_after_a_note_is_neither() -> None:
    assert manner((50, 2.04, 2.2)) is Manner.AFTER


def test_a_tap_with_a_longer_note_stands_beside_it() -> None:
    assert manner((50, 2.0, 2.1)) is Manner.TAPPED_WITH


def test_a_chord_tone_begins_and_ends_with_its_chord() -> None:
    assert manner((50, 2.0, 2.9)) is Manner.ENDS_WITH


@pytest.mark.parametrize("early_s", [-0.02, 0.006, 0.02])
def test_a_chord_tone_played_by_hand_is_still_one(early_s: float) -> None:
    assert manner((50, 2.0 - early_s, 2.88)) is Manner.ENDS_WITH


def test_a_key_that_comes_up_in_the_middle_of_a_note_is_told_from_a_bass() -> None:
    assert manner((50, 2.0, 3.5)) is Manner.ENDS_INSIDE
    assert manner((50, 2.0, 4.0)) is Manner.ENDS_WITH


def test_a_tap_in_a_rest_or_under_one_long_note_stands_apart() -> None:
    assert manner((50, 2.8, 2.9), without(2)) is Manner.TAPPED_APART
    assert manner((50, 2.5, 2.6)) is Manner.TAPPED_APART


def test_a_press_before_the_music_begins_stands_apart() -> None:
    later = [(pitch, begin + 5, end + 5) for pitch, begin, end in MELODY]
    assert manner((50, 4.0, 4.6), later) is Manner.TAPPED_APART


@pytest.mark.parametrize("share", [0.7, 0.9, 1.05])
def test_a_note_in_its_own_place_is_of_the_line(share: float) -> None:
    music = line([62, 64, 66, 67, 69], 0.5, share=share, begin_s=0.0)
    own = (50, music[2][1], music[2][2])
    assert manner(own, [row for row in music if row[0] != 66]) is Manner.IN_LINE


def test_several_low_notes_in_a_row_are_a_line() -> None:
    music = [row for row in MELODY if not 2 <= row[1] < 5]
    low = pressed(*line([50, 52, 53], 1.0, begin_s=2.0), music=music)
    assert low.manner.tolist() == [Manner.IN_LINE] * 3


def test_a_voice_is_dense_and_switches_are_sparse() -> None:
    taps = pressed((50, 1.95, 2.05), (50, 3.95, 4.05))
    assert taps.is_sparse.all()
    assert not pressed((50, 2.0, 2.9), (50, 3.0, 3.9)).is_sparse[0]


def test_the_share_of_notes_as_long_is_never_nothing_or_all() -> None:
    shares = pressed((50, 1.95, 2.05), (50, 3.0, 3.9)).length_share
    assert shares.tolist() == [1 / 11, 7 / 11]


def test_notes_of_the_part_are_looked_at_as_if_they_lay_outside() -> None:
    long = line([62, 64, 66, 67] * 25, 0.5, begin_s=0.0)
    own = pressed((50, 1.95, 2.05), music=long).own_manners
    assert own.sum() == 20
    assert own[Manner.IN_LINE] == 20
