from hypothesis import given
from hypothesis import strategies as st

from mockcheck.model.finding import Severity
from mockcheck.model.session import Session
from tests.phrases import findings

CHECK = "repeated-notes-too-fast"


def repeated(bpm: float, instrument: str = "violin", pitch: str = "A4", options: str = "") -> str:
    bar = " ".join([f"{pitch}:1/4"] * 16)
    return f"{instrument} 4/4 q={bpm} players=8 {options} | {pitch}:4 | {bar} |"


def test_the_measured_tremolo_of_a_published_symphony_is_fine_when_rehearsed() -> None:
    # Beethoven Symphony 8 finale, repeated triplets heard at 13.8 to 13.9 a second.
    assert findings(CHECK, repeated(13.79 * 15, options="level=rehearsed")) == []


def test_twenty_a_second_is_risky_and_never_impossible() -> None:
    found = findings(CHECK, repeated(300))
    assert [finding.severity for finding in found] == [Severity.RISKY]
    assert found[0].evidence[0].measured == 20
    assert found[0].evidence[0].limit == 12
    assert found[0].start.bar == 2 or found[0].start.bar == 1


def test_just_inside_and_just_outside() -> None:
    assert findings(CHECK, repeated(179.9)) == []
    assert len(findings(CHECK, repeated(181))) == 1


def test_a_repeated_double_stop_counts_as_one_note() -> None:
    assert len(findings(CHECK, repeated(300, pitch="D4+A4"))) == 1


def test_the_bass_is_slower() -> None:
    assert findings(CHECK, repeated(150)) == []
    assert len(findings(CHECK, repeated(150, "double bass", "A1"))) == 1


def test_the_limit_can_be_set_for_a_session() -> None:
    session = Session(check_params={CHECK: {"sight_notes_per_s": 8}})
    assert len(findings(CHECK, repeated(150), session=session)) == 1


def test_plucked_notes_are_another_question() -> None:
    assert findings(CHECK, repeated(300, options="program=45")) == []


def test_the_suggestion_cautions_about_strain() -> None:
    assert "ask the players" in findings(CHECK, repeated(300))[0].suggestion


@given(st.floats(40, 300))
def test_changing_notes_are_never_repeated_ones(bpm: float) -> None:
    bar = " ".join(["A4:1/4 C5:1/4 E5:1/4 G5:1/4"] * 4)
    assert findings(CHECK, f"violin 4/4 q={bpm} players=8 | {bar} |") == []
