from mockcheck.instruments import instrument, vocabulary
from tests.instruments.reference import midi

EXTENDED, FOUR = instrument("double bass C extension"), instrument("double bass")


# A bass teaching site's tuning page: the extension runs the lowest string down to C1.
def test_the_lowest_string_reaches_c() -> None:
    assert EXTENDED.lowest == midi("C1")
    assert EXTENDED.open_strings[:3] == FOUR.open_strings[:3]
    assert len(EXTENDED.open_strings) == 4


def test_it_is_the_common_bass_in_all_else() -> None:
    assert EXTENDED.string_length_mm == FOUR.string_length_mm
    assert (EXTENDED.comfortable_top, EXTENDED.section_top, EXTENDED.solo_top) == (
        FOUR.comfortable_top,
        FOUR.section_top,
        FOUR.solo_top,
    )
    naming = vocabulary().namings["double bass C extension"]
    assert (naming.part, naming.variant_of) == ("Double Bass", "double bass")
