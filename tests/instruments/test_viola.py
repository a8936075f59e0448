from mockcheck.instruments import instrument, vocabulary
from tests.instruments.reference import midi, reference_instrument

VIOLA = instrument("viola")


# music21 10.5 instrument tables.
def test_tuning_and_program_are_those_of_a_reference_library() -> None:
    reference = reference_instrument("Viola")
    strings = tuple(pitch.midi for pitch in reversed(reference.stringPitches))
    assert VIOLA.open_strings == strings
    assert VIOLA.lowest == reference.lowestNote.midi
    assert vocabulary().namings["viola"].programs == {reference.midiProgram}


# An arranging handbook, p. 117: E6 in the section. From memory: A5 lies well.
def test_ranges_are_those_of_the_handbooks() -> None:
    assert VIOLA.section_top == midi("E6")
    assert VIOLA.comfortable_top == midi("A5")


# A maker's table: body stop 219 to 230 mm and neck 146 to 154 mm.
def test_string_length_is_body_stop_and_neck() -> None:
    assert 219 + 146 <= VIOLA.string_length_mm <= 230 + 154
