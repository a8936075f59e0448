import numpy as np
import pytest

from mockcheck.errors import BadBrief
from mockcheck.instruments import instrument
from mockcheck.playing.fingerboard import (
    HIGHEST_STOP_SEMITONES,
    Fingerboard,
    fingerboard,
    stop_distance_mm,
    stop_places_mm,
)

VIOLIN = Fingerboard((76, 69, 62, 55), 328.0)


def test_an_octave_lies_half_way_up_the_string() -> None:
    assert stop_distance_mm(328.0, np.array([0.0, 12.0, 24.0])) == pytest.approx([0, 164, 246])


def test_a_fifth_lies_near_a_third_of_the_string_where_the_pure_fifth_is() -> None:
    # Equal temperament is 2 cents under the pure fifth 3:2, whose stop is at exactly 1/3.
    (fifth_mm,) = stop_distance_mm(690.0, np.array([7.0]))
    pure_mm = 690.0 / 3
    assert fifth_mm == pytest.approx(pure_mm, abs=690.0 * 2 / 3 * (2 ** (2 / 1200) - 1))
    assert fifth_mm < pure_mm


def test_stops_rise_and_close_up_towards_the_end_of_the_board() -> None:
    gaps_mm = np.diff(stop_places_mm(328.0))
    assert len(gaps_mm) == HIGHEST_STOP_SEMITONES
    assert np.all(gaps_mm > 0)
    assert np.all(np.diff(gaps_mm) < 0)
    # The board of a violin ends at about 270 of 328 mm (common practice, no source).
    assert stop_places_mm(328.0)[-1] == pytest.approx(270.0, abs=5.0)


def test_a_string_has_its_open_note_and_the_notes_of_its_board_only() -> None:
    assert VIOLIN.has_on_string(0, 76)
    assert not VIOLIN.has_on_string(0, 75)
    assert VIOLIN.has_on_string(3, 55 + HIGHEST_STOP_SEMITONES)
    assert not VIOLIN.has_on_string(3, 56 + HIGHEST_STOP_SEMITONES)


def test_strings_are_called_by_their_letters() -> None:
    assert [VIOLIN.string_letter(string) for string in range(4)] == ["E", "A", "D", "G"]
    assert Fingerboard((70, 69, 62, 55), 328.0).string_letter(0) == "Bb"


def test_two_strings_of_one_letter_are_told_apart_by_roman_numbers() -> None:
    # The violin tuned A E A E, as in fiddle playing (common practice, no source).
    cross = Fingerboard((76, 69, 64, 57), 328.0)
    letters = [cross.string_letter(string) for string in range(4)]
    assert letters == ["E (I)", "A (II)", "E (III)", "A (IV)"]


def test_a_whole_string_body_has_no_fingerboard() -> None:
    with pytest.raises(BadBrief, match="violin, viola, cello or double bass"):
        fingerboard(instrument("strings"))


def test_an_instrument_gives_its_strings_and_length() -> None:
    assert fingerboard(instrument("violin")) == VIOLIN
