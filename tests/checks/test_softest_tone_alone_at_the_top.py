import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mockcheck.instruments import instrument
from mockcheck.model.finding import Finding, Severity
from mockcheck.model.session import Session
from mockcheck.units import pitch_name
from tests.phrases import findings

CHECK = "softest-tone-alone-at-the-top"
TOP = instrument("violin").comfortable_top


def held(
    pitch: int, level: int, header: str = "solo violin players=1", session: Session | None = None
) -> list[Finding]:
    name = pitch_name(pitch, 4)
    music = f"v60 A4:1 v90 B4:1 C5:2 | v{level} {name}:4 |"
    return findings(CHECK, f"{header} 4/4 q=60 | {music}", session=session)


def test_ppp_above_the_comfortable_top_is_a_remark_for_one_player() -> None:
    (found,) = held(TOP + 1, 20)
    assert found.severity is Severity.REMARK
    assert (found.start.bar, found.pitches) == (2, (TOP + 1,))
    (loudness,) = found.evidence
    assert (loudness.measured, loudness.limit) == (20, 25)


def test_a_section_does_it_anywhere_in_its_range() -> None:
    # The trade's own fact: from nothing to triple forte, no warning for soft and high alone.
    assert held(TOP + 1, 20, "violin players=8") == []


def test_just_inside_and_just_outside_height_and_dynamic() -> None:
    assert held(TOP, 20) == []
    assert held(TOP + 1, 25) == []
    assert len(held(TOP + 1, 24)) == 1


def test_loud_and_low_is_nobody_s_trouble() -> None:
    assert held(TOP + 1, 120) == []
    assert held(55, 10) == []


@pytest.mark.parametrize("name", ["violin harmonics", "violin pizz"])
def test_a_touched_or_plucked_string_speaks_softly(name: str) -> None:
    assert held(TOP + 1, 20, f"{name} players=1") == []


def test_a_short_note_is_over_before_it_breaks() -> None:
    name = pitch_name(TOP + 1, 4)
    assert findings(CHECK, f"solo violin players=1 4/4 q=60 | v20 {name}:1 r:3 |") == []
    assert len(findings(CHECK, f"solo violin players=1 4/4 q=60 | v20 {name}:1.2 r:2 |")) == 1


def test_notes_of_one_passage_are_one_finding_and_a_rest_makes_two() -> None:
    names = [pitch_name(TOP + step, 4) for step in (1, 3, 2)]
    passage = " ".join(f"{name}:2" for name in names)
    (found,) = findings(CHECK, f"solo violin players=1 6/4 q=60 | v20 {passage} |")
    assert names[1] in found.message
    apart = f"solo violin players=1 6/4 q=60 | v20 {passage} | r:6 | r:6 | {passage} |"
    assert len(findings(CHECK, apart)) == 2


def test_the_limit_can_be_set_for_a_session() -> None:
    session = Session(check_params={CHECK: {"pp_from": 10}})
    assert held(TOP + 1, 20, session=session) == []


@given(st.integers(60, 105), st.integers(1, 127))
@settings(max_examples=25)
def test_it_takes_both_height_and_softness(pitch: int, level: int) -> None:
    assert len(held(pitch, level)) == (pitch > TOP and level < 25)
