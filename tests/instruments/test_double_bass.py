from itertools import pairwise

from mockcheck.instruments import instrument, vocabulary
from tests.instruments.reference import midi, reference_instrument

BASS = instrument("double bass")


# music21 10.5 instrument tables, where the strings are as they sound.
def test_tuning_and_program_are_those_of_a_reference_library() -> None:
    reference = reference_instrument("Contrabass")
    strings = tuple(pitch.midi for pitch in reversed(reference.stringPitches))
    assert BASS.open_strings == strings
    assert vocabulary().namings["double bass"].programs == {reference.midiProgram}


def test_it_is_tuned_in_fourths() -> None:
    strings = BASS.open_strings
    assert [high - low for high, low in pairwise(strings)] == [5, 5, 5]


# A string teaching site: written G4 lies well. Bruckner 5, finale, bar 390: written B4.
def test_tops_sound_an_octave_under_the_written_notes() -> None:
    assert BASS.comfortable_top == midi("G4") - 12
    assert BASS.section_top == midi("B4") - 12


# Common practice, no source; an encyclopedia entry gives 42 inches.
def test_string_length_is_that_of_an_orchestral_bass() -> None:
    assert 1020 <= BASS.string_length_mm <= 1110
    assert abs(BASS.string_length_mm - 42 * 25.4) < 10
