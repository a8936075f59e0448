import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from mockcheck.model.spelled import (
    SpellingColumns,
    accidentals_of,
    interval_name,
    is_in_key,
    letter_name,
    sounds_in_key,
    spelled_name,
    spoken_name,
    staff_steps,
)
from mockcheck.units import pitch_from_name

PLACES = st.integers(-8, 12)


def pitch_of(fifths: int, octave: int) -> int:
    return 12 * octave + 7 * fifths % 12


@pytest.mark.parametrize(
    ("pitch", "fifths", "name"),
    [(60, 0, "C4"), (60, 12, "B#3"), (59, -7, "Cb4"), (75, 9, "D#5"), (75, -3, "Eb5"),
     (66, 6, "F#4"), (70, -2, "Bb4"), (67, 13, "F##4")],
)  # fmt: skip
def test_known_notes_have_the_names_players_use(pitch: int, fifths: int, name: str) -> None:
    assert spelled_name(pitch, fifths) == name


def test_the_octave_of_middle_c_is_a_house_custom() -> None:
    assert spelled_name(60, 0, 3) == "C3"
    assert spelled_name(60, 12, 5) == "B#4"


@given(PLACES, st.integers(1, 9), st.integers(3, 5))
def test_a_spelled_name_reads_back_as_its_pitch(fifths: int, octave: int, middle: int) -> None:
    pitch = pitch_of(fifths, octave)
    assert pitch_from_name(spelled_name(pitch, fifths, middle), middle) == pitch


@pytest.mark.parametrize(
    ("first", "second", "name"),
    [
        ((72, 0), (75, 9), "augmented second"),
        ((72, 0), (75, -3), "minor third"),
        ((75, 9), (72, 0), "augmented second"),
        ((73, 7), (75, -3), "diminished third"),
        ((72, 0), (73, 7), "chromatic semitone"),
        ((72, 0), (73, -5), "minor second"),
        ((72, 0), (78, 6), "augmented fourth"),
        ((72, 0), (78, -6), "diminished fifth"),
        ((72, 0), (72, -12), "diminished second"),
        ((68, 8), (72, 0), "diminished fourth"),
        ((60, 0), (60, 0), "perfect unison"),
        ((60, 0), (76, 4), "major third"),
    ],
)
def test_intervals_have_the_names_of_any_primer(
    first: tuple[int, int], second: tuple[int, int], name: str
) -> None:
    assert interval_name(first, second) == name


def test_b_sharp_stands_below_the_middle_c_that_it_sounds() -> None:
    steps = staff_steps(np.array([60, 60, 62, 59]), np.array([0, 12, 2, -7]))
    assert steps.tolist() == [35, 34, 36, 35]


@given(PLACES, st.integers(1, 9))
def test_seven_places_more_are_a_sharp_more_on_the_same_line(fifths: int, octave: int) -> None:
    pitch = pitch_of(fifths, octave)
    places = np.array([fifths, fifths + 7])
    assert np.diff(accidentals_of(places)).tolist() == [1]
    assert np.ptp(staff_steps(np.array([pitch, pitch + 1]), places)) == 0


def test_keys_are_named_in_words() -> None:
    assert [spoken_name(place) for place in (0, -3, 6, -10, 13)] == [
        "C", "E flat", "F sharp", "E double flat", "F double sharp",
    ]  # fmt: skip
    assert letter_name(9) == "D#"


@given(st.integers(-7, 7))
def test_seven_notes_need_no_accidental_and_five_do(key: int) -> None:
    places = np.arange(key - 3, key + 9)
    assert is_in_key(places, np.full(12, key)).sum() == 7
    assert (
        sounds_in_key(7 * places, np.full(12, key)) == is_in_key(places, np.full(12, key))
    ).all()


def test_columns_of_different_length_are_refused_and_a_selection_keeps_them_together() -> None:
    column = np.arange(3, dtype=np.int8)
    columns = SpellingColumns(column, column.copy(), column.copy(), column.copy(), column > 0)
    chosen = columns.select(np.array([2, 0]))
    assert chosen.fifths.tolist() == [2, 0]
    assert chosen.has_signature.tolist() == [True, False]
    with pytest.raises(ValueError, match="differ in length"):
        SpellingColumns(column.copy(), column.copy(), column.copy(), column.copy(), column[:2] > 0)
