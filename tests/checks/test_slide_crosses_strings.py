import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mockcheck.model.finding import Severity
from mockcheck.model.session import Session
from tests.phrases import findings

CHECK = "slide-crosses-strings"


def bent(pitch: str, cents: int, begin: float, end: float, name: str = "violin") -> str:
    """A note of a bar bent from one second to another, then held; a beat is a second."""
    steps = [
        f"bend@{1 + begin + (end - begin) * step / 16:.4f}={round(cents * step / 16)}"
        for step in range(17)
    ]
    return f"{name} 4/4 q=60 | bend@1=0 {' '.join(steps)} {pitch}:4 |"


def test_a_slide_of_a_fifth_is_fine() -> None:
    assert findings(CHECK, "violin 4/4 q=60 | A4:2> E5:2 | E5:2> A4:2 |") == []


def test_a_slide_from_the_open_lowest_string_is_a_step_at_that_end() -> None:
    found = findings(CHECK, "violin 4/4 q=60 | C5:4 | G3:2> D4:2 |")
    assert [finding.severity for finding in found] == [Severity.RISKY]
    assert found[0].start.bar == 2
    assert found[0].pitches == (55, 62)
    assert (found[0].evidence[0].measured, found[0].evidence[0].limit) == (0, 1)


def test_another_open_string_has_a_lower_one_beside_it() -> None:
    assert findings(CHECK, "violin 4/4 q=60 | D4:2> A4:2 |") == []


def test_a_fall_below_the_lowest_string_is_impossible() -> None:
    found = findings(CHECK, bent("Ab3", -500, 2.6, 3.5))
    assert [finding.severity for finding in found] == [Severity.IMPOSSIBLE]
    assert found[0].evidence[0].measured == pytest.approx(4, abs=0.2)


def test_a_slide_wider_than_a_string_is_impossible() -> None:
    # Only the G string has Ab3; its board ends about two and a half octaves up (common practice).
    music = "violin 4/4 q=60 | Ab3:2 cc84@3=56 {}:2 |"
    assert findings(CHECK, music.format("C6")) == []
    (found,) = findings(CHECK, music.format("G6"))
    assert found.severity is Severity.IMPOSSIBLE
    assert (found.evidence[0].measured, found.evidence[0].limit) == (35, 30)


def test_just_inside_and_just_outside_one_string() -> None:
    # A semitone above the open string is the lowest place of a finger.
    assert findings(CHECK, "violin 4/4 q=60 | Ab3:2> Eb4:2 |") == []
    assert len(findings(CHECK, "violin 4/4 q=60 | G3:2> Eb4:2 |")) == 1


def test_no_hand_slides_an_octave_in_a_tenth_of_a_second() -> None:
    # Ab3 to Ab4 on the G string: 328 (2^(-1/12) - 2^(-13/12)) = 154.8 mm (ideal string). Shortest
    # shift of an octave 0.12 s, usual one 0.2 s, from memory.
    (hopeless,) = findings(CHECK, bent("Ab3", 1200, 1, 1.1))
    assert hopeless.severity is Severity.IMPOSSIBLE
    assert hopeless.evidence[0].measured == pytest.approx(1548, rel=0.1)
    (hard,) = findings(CHECK, bent("Ab3", 1200, 1, 1.15))
    assert hard.severity is Severity.AWKWARD
    assert findings(CHECK, bent("Ab3", 1200, 1, 1.25)) == []


def test_a_fifth_at_the_pace_of_recent_cello_recordings_is_fine() -> None:
    # 600 Hz/s from A3 to E4 takes 183 ms (arXiv 2604.22037).
    assert findings(CHECK, bent("A3", 700, 1, 1.183, "cello")) == []


def test_a_switch_leaves_the_time_to_the_player() -> None:
    on = "cc5@1=60 cc65@1=127"
    assert findings(CHECK, f"cello 4/4 q=60 | {on} (E2:1 E3:1) r:2 |") == []


def test_the_limit_can_be_set_for_a_session() -> None:
    session = Session(check_params={CHECK: {"hard_mm_per_s": 50}})
    music = "violin 4/4 q=60 | A4:2> E5:2 |"
    assert [f.severity for f in findings(CHECK, music, session=session)] == [Severity.AWKWARD]
    assert findings(CHECK, music) == []


@given(st.integers(56, 84), st.integers(2, 12))
@settings(max_examples=25)
def test_a_slow_stopped_slide_up_to_an_octave_is_never_reported(low: int, width: int) -> None:
    assert findings(CHECK, f"violin 4/4 q=40 | {low}:2> {low + width}:2 |") == []
