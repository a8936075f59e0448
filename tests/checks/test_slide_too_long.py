import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mockcheck.model.finding import Severity
from mockcheck.model.session import Session
from tests.phrases import findings

CHECK = "slide-too-long"


def slid(milliseconds: float, style: str = "modern", interval: int = 7) -> str:
    """A4 slid up within its last milliseconds, a beat being a second; then one plain bar."""
    begin = 2 - milliseconds / 1000
    steps = [
        f"bend@{1 + begin + (2 - begin) * step / 25:.4f}={round(100 * interval * step / 24)}"
        for step in range(25)
    ]
    bends = " ".join([*steps, "bend@3=0"])
    return f"violin 4/4 q=60 style={style} | {bends} (A4:2 {69 + interval}:2) | A4:4 |"


@pytest.mark.parametrize("milliseconds", [90, 120, 180, 230])
def test_slides_as_long_as_players_make_them_are_fine(milliseconds: float) -> None:
    # Audible slides of players today take 60 to 250 ms (from memory).
    assert findings(CHECK, slid(milliseconds)) == []


@pytest.mark.parametrize("milliseconds", [300, 400, 800, 1500])
def test_a_creeping_slide_is_told_with_its_time(milliseconds: float) -> None:
    (found,) = findings(CHECK, slid(milliseconds))
    assert found.severity is Severity.REMARK
    assert found.pitches == (69, 76)
    assert found.evidence[0].limit == 250
    assert found.evidence[0].measured == pytest.approx(milliseconds, rel=0.1)
    assert "A4 to E5" in found.message


def test_romantic_slides_may_take_half_a_second_and_comic_ones_any_time() -> None:
    assert findings(CHECK, slid(400, "romantic")) == []
    assert len(findings(CHECK, slid(700, "romantic"))) == 1
    assert findings(CHECK, slid(1500, "comic")) == []


def test_slides_near_each_other_are_told_once() -> None:
    one = slid(600).rsplit("|", 2)[0]
    again = one.split("|", 1)[1]
    found = findings(CHECK, f"{one} | {again} | A4:4 | A4:4 | A4:4 | {again} |")
    assert [finding.message[:8] for finding in found] == ["2 slides", "The slid"]
    assert (found[0].start.bar, found[1].start.bar) == (1, 6)


def test_a_slide_a_switch_asks_for_has_no_length() -> None:
    assert findings(CHECK, "violin 4/4 q=60 | cc5@1=60 cc65@1=127 (A4:2 E5:2) |") == []


def test_scoops_and_falls_are_left_alone() -> None:
    fall = " ".join(f"bend@{3 + step / 20:.2f}={-40 * step}" for step in range(20))
    assert findings(CHECK, f"violin 4/4 q=60 | {fall} A4:3 r:1 | bend@1=0 A4:4 |") == []


def test_the_limit_can_be_set_for_a_session() -> None:
    session = Session(check_params={CHECK: {"modern_ms": 1000}})
    assert findings(CHECK, slid(600), session=session) == []


@given(st.integers(3, 12), st.integers(100, 200))
@settings(max_examples=20)
def test_the_interval_alone_is_never_reported(interval: int, milliseconds: int) -> None:
    assert findings(CHECK, slid(milliseconds, interval=interval)) == []
