from hypothesis import given, settings
from hypothesis import strategies as st

from mockcheck.model.finding import Severity
from mockcheck.model.session import Session
from tests.phrases import findings

CHECK = "slides-overused"
PLAIN = "A4:1 D5:1 F5:1 D5:1 | E5:1 C5:1 A4:1 E5:1 | F5:1 D5:1 A5:1 F5:1 | E5:2 C5:2 |"
SLID = PLAIN.replace(":1 ", ":1> ").replace("E5:2 ", "E5:2> ")


def test_a_melody_without_slides_is_fine() -> None:
    assert findings(CHECK, f"violin 4/4 q=72 players=8 | {PLAIN}") == []


def test_a_slide_into_every_note_is_reported_once_over_its_bars() -> None:
    found = findings(CHECK, f"violin 4/4 q=72 players=8 | A4:4 | {SLID}")
    assert [finding.severity for finding in found] == [Severity.AWKWARD]
    assert found[0].start.bar == 2
    assert found[0].end.bar in (4, 5)
    assert found[0].evidence[0].limit == 3
    assert found[0].evidence[0].measured > 50


def test_one_or_two_chosen_slides_are_fine() -> None:
    two = PLAIN.replace("F5:1 D5:1 |", "F5:1> D5:1 |").replace("E5:1 C5:1", "E5:1> C5:1")
    assert findings(CHECK, f"violin 4/4 q=72 players=8 | {two}") == []


def test_the_style_moves_the_limit() -> None:
    four = "| " + PLAIN.replace("E5:1 C5:1", "E5:1> C5:1").replace("A5:1 F5:1", "A5:1> F5:1")
    four = four.replace("F5:1 D5:1 A5", "F5:1> D5:1 A5").replace("A4:1 D5:1", "A4:1> D5:1")
    assert len(findings(CHECK, f"violin 4/4 q=72 players=8 {four}")) == 1
    assert findings(CHECK, f"violin 4/4 q=72 players=8 style=comic {four}") == []


def test_the_limit_can_be_set_for_a_session() -> None:
    session = Session(check_params={CHECK: {"modern_per_100_joins": 100}})
    assert findings(CHECK, f"violin 4/4 q=72 players=8 | {SLID}", session=session) == []


@given(st.integers(60, 160))
@settings(max_examples=20, deadline=None)
def test_no_tempo_makes_slides_out_of_none(bpm: int) -> None:
    assert findings(CHECK, f"violin 4/4 q={bpm} players=8 | {PLAIN}") == []
