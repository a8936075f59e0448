from hypothesis import given
from hypothesis import strategies as st

from mockcheck.model.finding import Severity
from mockcheck.model.session import Session
from tests.phrases import findings

CHECK = "pizzicato-too-fast"


def plucked(bpm: float, instrument: str = "violin", pitch: str = "A4", options: str = "") -> str:
    bar = " ".join([f"{pitch}:1/4"] * 16)
    return f"{instrument} 4/4 q={bpm} players=8 program=45 {options} | {bar} |"


def test_semiquavers_at_a_walking_pace_can_be_plucked() -> None:
    # quarter = 100 in semiquavers for short bursts: from memory (6.67 a second).
    assert findings(CHECK, plucked(100)) == []


def test_faster_is_risky_and_twice_as_fast_impossible() -> None:
    risky = findings(CHECK, plucked(120))
    assert [finding.severity for finding in risky] == [Severity.RISKY]
    assert (risky[0].start.bar, risky[0].start.beat) == (1, 1)
    assert risky[0].evidence[0].measured == 8
    assert [f.severity for f in findings(CHECK, plucked(240))] == [Severity.IMPOSSIBLE]


def test_the_bass_must_be_slower_than_the_violin() -> None:
    # Rimsky-Korsakov, Principles of Orchestration, chapter 1, on pizzicato.
    assert findings(CHECK, plucked(90)) == []
    assert len(findings(CHECK, plucked(90, "double bass", "A1"))) == 1


def test_a_soloist_with_two_fingers_is_faster() -> None:
    assert findings(CHECK, plucked(120, options="level=solo")) == []


def test_the_limit_can_be_set_for_a_session() -> None:
    session = Session(check_params={CHECK: {"violin_notes_per_s": 3}})
    assert len(findings(CHECK, plucked(60), session=session)) == 1


def test_bowed_notes_are_another_question() -> None:
    assert findings(CHECK, plucked(120).replace("program=45", "")) == []


@given(st.integers(2, 5))
def test_a_figure_shorter_than_the_window_is_fine(count: int) -> None:
    figure = " ".join(["A4:1/8"] * count)
    assert findings(CHECK, f"violin 4/4 q=100 players=8 program=45 | A4:2 {figure} r:1 |") == []
