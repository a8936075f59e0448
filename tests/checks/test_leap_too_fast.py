from hypothesis import given, settings
from hypothesis import strategies as st

from mockcheck.model.finding import Severity
from mockcheck.model.session import Session
from tests.phrases import findings

CHECK = "leap-too-fast"


def leap(bpm: float, upper: str = "C#7", options: str = "players=8") -> str:
    return (
        f"violin 4/4 q={bpm} {options} | Bb3:1 Bb3:1/2 C4:1/2 Bb3:1/4 {upper}:3/4 Bb5:1 |"
        " Bb4:1 C5:1 D5:2 |"
    )


def test_an_octave_in_quavers_is_fine() -> None:
    assert findings(CHECK, leap(100, "Bb4")) == []


def test_two_octaves_and_more_in_a_short_semiquaver_are_found_at_the_leap() -> None:
    found = findings(CHECK, leap(170))
    assert len(found) == 1
    assert found[0].severity in (Severity.RISKY, Severity.IMPOSSIBLE)
    assert found[0].start.bar == 1
    assert "shift" in found[0].message
    assert found[0].evidence[1].measured < found[0].evidence[1].limit


def test_just_inside_and_just_outside_the_headroom_it_states() -> None:
    headroom = findings(CHECK, leap(170))[0].evidence[0].measured
    assert findings(CHECK, leap(170 * headroom * 0.998)) == []
    assert len(findings(CHECK, leap(170 * headroom * 1.004))) == 1


def test_better_prepared_players_have_more_time() -> None:
    bpm = 170 * findings(CHECK, leap(170))[0].evidence[0].measured * 1.05
    assert len(findings(CHECK, leap(bpm))) == 1
    assert findings(CHECK, leap(bpm, options="players=8 level=solo")) == []


def test_the_limit_can_be_set_for_a_session() -> None:
    session = Session(check_params={CHECK: {"least_headroom": 0.2}})
    assert findings(CHECK, leap(170), session=session) == []


@given(st.integers(56, 90), st.integers(56, 90))
@settings(max_examples=25)
def test_no_leap_in_crotchets_at_a_walking_pace_is_reported(low: int, high: int) -> None:
    assert findings(CHECK, f"violin 4/4 q=80 players=8 | {low}:1 {high}:1 {low}:1 {high}:1 |") == []
