import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mockcheck.model.finding import Finding, Severity
from mockcheck.model.session import Session
from tests.phrases import findings

CHECK = "vibrato-on-lowest-open-string"


def vibrato(width_cents: float, beats: float = 3, cycles_per_beat: int = 6) -> str:
    """Bends to and fro, that wide from end to end; a beat is a second."""
    steps = int(beats * cycles_per_beat * 4)
    swing = [0.0, 0.5, 0.0, -0.5]
    return " ".join(
        f"bend@{1 + step / (4 * cycles_per_beat):.4f}={round(width_cents * swing[step % 4])}"
        for step in range(1, steps)
    )


def held(pitch: str, width_cents: float = 34, name: str = "violin") -> list[Finding]:
    return findings(CHECK, f"{name} 4/4 q=60 | {vibrato(width_cents)} {pitch}:4 |")


def test_a_stopped_note_may_vibrate() -> None:
    # 34 cents at 6 cycles a second: the middle of violinists' recordings of Paganini's caprices.
    assert held("A3") == []


def test_the_open_g_of_the_violin_does_not() -> None:
    found = held("G3")
    assert [finding.severity for finding in found] == [Severity.REMARK]
    assert (found[0].start.bar, found[0].start.beat, found[0].pitches) == (1, 1, (55,))
    # 34 cents there and back, 6 times a second for 3 s of a note of 3.6 s.
    assert found[0].evidence[0].measured == pytest.approx(2 * 34 * 6 * 3 / 3.6, rel=0.03)


def test_every_instrument_has_its_own_lowest_string() -> None:
    assert len(held("C2", name="cello")) == 1
    assert held("G2", name="cello") == []


def test_just_inside_and_just_outside() -> None:
    # 10 cents there and back, 6 times a second for 3 s of 3.6 s, are 100 cents a second.
    assert held("G3", 8) == []
    assert len(held("G3", 12)) == 1


def test_the_limit_can_be_set_for_a_session() -> None:
    session = Session(check_params={CHECK: {"vibrato_cents_per_s": 1000}})
    music = f"violin 4/4 q=60 | {vibrato(34)} G3:4 |"
    assert findings(CHECK, music, session=session) == []


def test_short_or_plucked_or_straight_notes_are_fine() -> None:
    assert findings(CHECK, f"violin 4/4 q=240 | {vibrato(34)} G3:4 |") == []
    assert held("G3", name="violin pizz") == []
    assert findings(CHECK, "violin 4/4 q=60 | G3:4 |") == []


def test_a_slide_is_no_vibrato() -> None:
    assert findings(CHECK, "violin 4/4 q=60 | G3:2> D4:2 |") == []


@given(st.integers(56, 90))
@settings(max_examples=15)
def test_no_other_note_is_ever_reported(pitch: int) -> None:
    assert held(str(pitch)) == []
