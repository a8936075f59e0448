import pytest

from mockcheck.model.finding import Severity
from mockcheck.model.session import Session
from tests.checks.hands import by_hand, found_in
from tests.phrases import findings

CHECK = "rhythm-too-fine"
CALM = "C4:1 D4:1 E4:1 F4:1 | " * 3


@pytest.mark.parametrize("late", ["1/32", "1/24", "1/16", "1/48"])
def test_a_note_a_hair_after_the_beat_is_residue(late: str) -> None:
    (one,) = findings(CHECK, f"violin 4/4 q=100 | {CALM} C4:1 r:{late} D4:1/2 r:1/4 |")
    assert one.severity is Severity.AWKWARD
    assert one.start.bar == 4
    assert one.evidence[0].measured == float(late.split("/")[1])


@pytest.mark.parametrize("value", ["1/2", "1/3", "1/4", "1/6", "1/8", "1/12"])
def test_usual_values_are_read(value: str) -> None:
    assert findings(CHECK, f"violin 4/4 q=100 | {CALM} C4:{value} D4:{value} E4:1/2 |") == []


def test_a_64th_in_a_slow_movement_is_read() -> None:
    text = "violin 4/4 q={} | " + CALM + " C4:15/16 D4:1/16 E4:1 |"
    assert findings(CHECK, text.format(50)) == []
    assert len(findings(CHECK, text.format(80))) == 1


def test_what_a_hand_plays_is_not_taken_at_its_word() -> None:
    assert found_in(CHECK, by_hand(f"violin 4/4 q=100 | {CALM * 4} |", late_ms=15)) == []


def test_a_passage_is_said_once() -> None:
    bar = "r:1/32 C4:31/32 r:1/32 D4:31/32 E4:1 F4:1 | "
    assert len(findings(CHECK, f"violin 4/4 q=100 | {CALM * 2} {bar * 3}")) == 1


def test_the_limits_can_be_set_for_a_session() -> None:
    session = Session(check_params={CHECK: {"finest_in_quarter": 32}})
    text = f"violin 4/4 q=100 | {CALM} C4:15/16 D4:1/16 |"
    assert findings(CHECK, text, session=session) == []
