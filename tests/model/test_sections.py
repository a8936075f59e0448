import pytest
from hypothesis import given
from hypothesis import strategies as st

from mockcheck.model.sections import SECTION_PRESETS, SectionSizes, read_sections


@pytest.mark.parametrize("text", ["8.8.5.4.3", " 8-8-5-4-3 ", "8/8/5/4/3", "8, 8, 5, 4, 3"])
def test_a_booking_names_five_sections_in_score_order(text: str) -> None:
    sizes = read_sections(text)
    assert sizes == SectionSizes(violin_1=8, violin_2=8, viola=5, cello=4, double_bass=3)
    assert sizes.total == 28


@pytest.mark.parametrize(
    "text", ["", "8.8.5.4", "8.8.5.4.3.2", "8.8.5.4.x", "0.0.0.0.0", "201.1.1.1.1", "quintet"]
)
def test_anything_else_is_refused_with_what_is_accepted(text: str) -> None:
    with pytest.raises(ValueError, match=r"8\.8\.5\.4\.3.*string quartet"):
        read_sections(text)


@given(st.lists(st.integers(0, 200), min_size=5, max_size=5).filter(any))
def test_every_booking_reads_back(numbers: list[int]) -> None:
    assert read_sections(".".join(map(str, numbers))) == SectionSizes(*numbers)


def test_presets_are_those_of_their_sources() -> None:
    # Rimsky-Korsakov, Principles of Orchestration, chapter 1 A: full and medium orchestra.
    assert read_sections("Symphony") == SectionSizes(16, 14, 12, 10, 8)
    assert read_sections("medium orchestra") == SectionSizes(12, 10, 8, 6, 4)
    # Contractor's note The Size of a String Section (2010): 28 and 47 players.
    assert SECTION_PRESETS["small studio"].total == 28
    assert SECTION_PRESETS["studio"].total == 47
    assert SECTION_PRESETS["string quartet"].total == 4


def test_each_instrument_has_its_section() -> None:
    sizes = SectionSizes(14, 12, 10, 8, 6)
    assert sizes.of("violin") == 14
    assert sizes.of("violin", is_second=True) == 12
    assert [sizes.of(one) for one in ("viola", "cello", "double bass")] == [10, 8, 6]
    assert sizes.of("double bass 5 string") == 6
    assert sizes.of("hurdy-gurdy") == 1
