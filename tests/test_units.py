import pytest
from hypothesis import given
from hypothesis import strategies as st

from mockcheck.units import bpm_from_microseconds, pitch_from_name, pitch_name


def test_middle_c_is_key_60_under_every_naming() -> None:
    # MIDI 1.0 Detailed Specification 4.2, Note Number.
    assert pitch_name(60) == "C4"
    assert pitch_name(60, 3) == "C3"
    assert pitch_name(60, 5) == "C5"


def test_open_strings_have_their_usual_names() -> None:
    # Tunings: instrument data of the music21 package, version 10.5.1.
    names = [pitch_name(pitch) for pitch in (76, 69, 62, 55, 48, 36, 28)]
    assert names == ["E5", "A4", "D4", "G3", "C3", "C2", "E1"]


def test_accidentals_and_plain_numbers_are_read() -> None:
    assert pitch_from_name("F#3") == 54
    assert pitch_from_name("Gb3") == 54
    assert pitch_from_name("b3") == 59
    assert pitch_from_name("C-1") == 0
    assert pitch_from_name("61") == 61


@pytest.mark.parametrize("text", ["", "H4", "C", "C##b4", "4C", "C4.5"])
def test_anything_else_is_refused_with_the_accepted_forms(text: str) -> None:
    with pytest.raises(ValueError, match="C#4"):
        pitch_from_name(text)


@given(st.integers(0, 127), st.sampled_from([3, 4, 5]))
def test_names_read_back_as_the_same_pitch(pitch: int, middle_c_octave: int) -> None:
    assert pitch_from_name(pitch_name(pitch, middle_c_octave), middle_c_octave) == pitch


def test_half_a_second_a_quarter_is_120() -> None:
    # Standard MIDI Files 1.0: 500000 microseconds a quarter is 120 a minute.
    assert bpm_from_microseconds(500_000) == 120
