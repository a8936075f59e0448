from hypothesis import given, settings
from hypothesis import strategies as st

from mockcheck.model.finding import Severity
from mockcheck.model.session import Session
from tests.phrases import findings

CHECK = "bend-left-over"


def test_a_bend_taken_back_before_the_next_note_is_fine() -> None:
    assert findings(CHECK, "cello 4/4 q=96 | bend@1=0 C3:1> E3:1 bend@3=0 F3:2 | G3:4 |") == []


def test_notes_that_begin_bent_and_stay_so_are_found() -> None:
    music = "cello 4/4 q=96 | C3:1 bend@1.5=50 D3:1 E3:1 bend@3.9=0 F3:1 | G3:4 |"
    found = findings(CHECK, music)
    assert [finding.severity for finding in found] == [Severity.AWKWARD]
    assert (found[0].start.bar, found[0].start.beat) == (1, 2)
    assert found[0].pitches == (50, 52)
    assert abs(found[0].evidence[0].measured - 50) < 0.2


def test_just_inside_and_just_outside() -> None:
    music = "cello 4/4 q=96 | C3:1 bend@1.5={} D3:1 E3:1 bend@3.9=0 F3:1 | G3:4 |"
    assert findings(CHECK, music.format(14)) == []
    assert len(findings(CHECK, music.format(16))) == 1


def test_a_bend_that_moves_into_the_note_is_a_slide() -> None:
    moves = " ".join(f"bend@{2 + step / 20}={-200 + 20 * step}" for step in range(11))
    assert findings(CHECK, f"cello 4/4 q=96 | C3:1 {moves} D3:1 E3:2 |") == []


def test_a_part_tuned_off_pitch_is_remarked_once() -> None:
    found = findings(CHECK, "cello 4/4 q=96 | bend@1=-30 C3:1 D3:1 E3:2 | C3:1 D3:1 E3:2 |")
    assert [finding.severity for finding in found] == [Severity.REMARK]


def test_the_limit_can_be_set_for_a_session() -> None:
    music = "cello 4/4 q=96 | C3:1 bend@1.5=50 D3:1 E3:1 bend@3.9=0 F3:1 | G3:4 |"
    session = Session(check_params={CHECK: {"smallest_cents": 60}})
    assert findings(CHECK, music, session=session) == []


@given(st.integers(60, 180))
@settings(max_examples=20, deadline=None)
def test_without_bends_there_is_nothing(bpm: int) -> None:
    assert findings(CHECK, f"cello 4/4 q={bpm} | C3:1 D3:1 E3:2 |") == []
