from mockcheck.instruments import instrument, vocabulary
from tests.instruments.reference import midi

FIVE, FOUR = instrument("double bass 5-string"), instrument("double bass")


# A bass teaching site's tuning page: the fifth string is B0, a fourth under the E.
def test_the_fifth_string_is_a_low_b() -> None:
    assert FIVE.open_strings == (*FOUR.open_strings, midi("B0"))
    assert FIVE.open_strings[3] - FIVE.lowest == 5


def test_it_is_the_common_bass_in_all_else() -> None:
    assert FIVE.string_length_mm == FOUR.string_length_mm
    assert (FIVE.comfortable_top, FIVE.section_top, FIVE.solo_top) == (
        FOUR.comfortable_top,
        FOUR.section_top,
        FOUR.solo_top,
    )
    naming = vocabulary().namings["double bass 5-string"]
    assert (naming.part, naming.variant_of) == ("Double Bass", "double bass")
