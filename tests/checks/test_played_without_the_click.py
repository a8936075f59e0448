import pytest

from mockcheck.model.finding import Severity
from mockcheck.model.session import Session
from tests.checks.hands import by_hand, found_in
from tests.infer.test_bar_lines import BARS, off_the_click
from tests.phrases import findings, played

CHECK = "played-without-the-click"


@pytest.mark.parametrize("seed", range(4))
def test_it_is_asked_once_for_the_file(seed: int) -> None:
    texts = [f"{name} 4/4 q=100 | {off_the_click(seed)} |" for name in ("violin", "viola")]
    (one,) = findings(CHECK, *texts)
    assert one.severity is Severity.RISKY
    assert "without the click" in one.message
    assert one.part == "Violin"
    assert one.evidence[0].measured < one.evidence[0].limit + 10


def test_the_rhythm_of_such_a_part_is_not_judged_further() -> None:
    text = f"violin 4/4 q=100 | {off_the_click(1)} |"
    (part,) = played(text).parts
    assert part.written is None
    for other in ("odd-tuplet", "rhythm-too-fine", "middle-of-the-bar-hidden"):
        assert findings(other, text) == []


def test_the_part_that_does_not_follow_is_named() -> None:
    free = f"viola 4/4 q=100 | {off_the_click(2)} |"
    (one,) = findings(CHECK, f"violin 4/4 q=100 | {BARS}", free)
    assert "Viola" in one.message
    assert one.part == "Viola"


@pytest.mark.parametrize("late_ms", [0, 15, 30])
def test_playing_to_the_click_is_fine_however_uneven(late_ms: float) -> None:
    assert found_in(CHECK, by_hand(f"violin 4/4 q=100 | {BARS}", late_ms=late_ms)) == []


def test_a_part_moved_as_a_whole_still_follows() -> None:
    assert findings(CHECK, f"violin 4/4 q=100 | r:1/7 {BARS}") == []


def test_few_notes_say_nothing() -> None:
    short = " ".join(off_the_click(1).split()[:60])
    assert findings(CHECK, f"violin 4/4 q=100 | {short} |") == []


def test_the_limits_can_be_set_for_a_session() -> None:
    session = Session(check_params={CHECK: {"least_onsets": 1000}})
    assert findings(CHECK, f"violin 4/4 q=100 | {off_the_click(1)} |", session=session) == []
