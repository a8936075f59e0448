import pytest

from mockcheck.model.finding import Severity
from mockcheck.model.session import Session
from tests.phrases import findings

CHECK = "slide-too-short"


def slid(milliseconds: float, interval: int = 2, name: str = "violin", pitch: int = 69) -> str:
    """A note slid up within its last milliseconds, a beat being a second; then one plain bar."""
    begin = 2 - milliseconds / 1000
    steps = [
        f"bend@{1 + begin + (2 - begin) * step / 13:.4f}={round(100 * interval * step / 12)}"
        for step in range(13)
    ]
    bends = " ".join([*steps, "bend@3=0"])
    return f"{name} 4/4 q=60 | {bends} ({pitch}:2 {pitch + interval}:2) | {pitch}:4 |"


@pytest.mark.parametrize("interval", [-2, 2])
def test_a_slide_no_longer_than_a_shift_is_told(interval: int) -> None:
    # Below 80 to 100 ms a shift is not heard as a slide (from memory).
    (found,) = findings(CHECK, slid(80, interval))
    assert found.severity is Severity.REMARK
    assert found.evidence[0].limit == 80
    assert found.evidence[0].measured == pytest.approx(72, abs=7)


@pytest.mark.parametrize("milliseconds", [100, 150, 400])
def test_a_slide_that_is_heard_is_fine(milliseconds: float) -> None:
    assert findings(CHECK, slid(milliseconds)) == []


def test_a_join_quicker_than_a_slide_is_none() -> None:
    assert findings(CHECK, slid(30)) == []


def test_what_takes_too_fast_a_hand_is_told_by_the_other_check_only() -> None:
    # Ab3 has only the G string: a fifth up is 328 (2^(-1/12) - 2^(-8/12)) = 103 mm in 70 ms or so.
    music = slid(80, 7, pitch=56)
    assert findings(CHECK, music) == []
    assert len(findings("slide-crosses-strings", music)) == 1


def test_a_whole_string_body_is_not_looked_at() -> None:
    assert findings(CHECK, slid(80, name="Strings program=48")) == []


def test_the_limit_can_be_set_for_a_session() -> None:
    session = Session(check_params={CHECK: {"shortest_ms": 50}})
    assert findings(CHECK, slid(80), session=session) == []


def test_quick_slides_near_each_other_are_told_once() -> None:
    head, bars = slid(80).split("|", 1)
    bar = bars.split("|")[0]
    (found,) = findings(CHECK, f"{head}| {bar}| {bar}|")
    assert found.message.startswith("2 slides")
