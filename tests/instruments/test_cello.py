from mockcheck.instruments import instrument, vocabulary
from tests.instruments.reference import midi, reference_instrument

CELLO = instrument("cello")


# music21 10.5 instrument tables.
def test_tuning_and_program_are_those_of_a_reference_library() -> None:
    reference = reference_instrument("Violoncello")
    strings = tuple(pitch.midi for pitch in reversed(reference.stringPitches))
    assert CELLO.open_strings == strings
    assert CELLO.lowest == reference.lowestNote.midi
    assert vocabulary().namings["cello"].programs == {reference.midiProgram}


# Widor, The Technique of the Modern Orchestra (1906), p. 175: E5 and E6; an arranging handbook,
# p. 117: A5 in the section.
def test_ranges_are_those_of_the_handbooks() -> None:
    assert CELLO.comfortable_top == midi("E5")
    assert CELLO.section_top == midi("A5")
    assert CELLO.solo_top == midi("E6")


# Common practice, no source.
def test_string_length_is_that_of_a_full_size_cello() -> None:
    assert 680 <= CELLO.string_length_mm <= 700
