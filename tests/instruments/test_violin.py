from mockcheck.instruments import instrument, vocabulary
from mockcheck.model.session import Level
from tests.instruments.reference import midi, reference_instrument

VIOLIN = instrument("violin")


# music21 10.5 instrument tables.
def test_tuning_and_program_are_those_of_a_reference_library() -> None:
    reference = reference_instrument("Violin")
    strings = tuple(pitch.midi for pitch in reversed(reference.stringPitches))
    assert VIOLIN.open_strings == strings
    assert VIOLIN.lowest == reference.lowestNote.midi
    assert reference.midiProgram in vocabulary().namings["violin"].programs


# Prout, The Orchestra, vol. 1 (1899), p. 19: E7 in the section. Common practice, no source: the
# highest useful effect is the G four octaves above the open G.
def test_ranges_are_those_of_the_handbooks() -> None:
    assert VIOLIN.top(Level.SIGHT) == midi("E7")
    assert VIOLIN.comfortable_top < VIOLIN.section_top < 55 + 4 * 12 <= VIOLIN.solo_top


# Common practice, no source: full-size violins have 320 to 335 mm.
def test_string_length_is_that_of_a_full_size_violin() -> None:
    assert 320 <= VIOLIN.string_length_mm <= 335
