import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mockcheck.model.finding import Severity
from mockcheck.model.session import Session, Switch, TrackChoice
from tests.phrases import findings

CHECK = "pedal-on-strings"
PEDALLED = "r:4 | cc64@1=127 C3:1 E3:1 G3:1 C4:1 | cc64@1=0 r:4 | C3:4"


def test_notes_without_a_pedal_are_fine() -> None:
    assert findings(CHECK, "cello 4/4 q=60 | C3:1 E3:1 G3:1 C4:1 | C3+G3:4 |") == []


def test_a_chord_that_piles_up_under_the_pedal_is_awkward() -> None:
    (found,) = findings(CHECK, f"cello 4/4 q=60 | {PEDALLED} |")
    assert found.severity is Severity.AWKWARD
    assert (found.start.bar, found.start.beat, found.end.bar) == (2, 1, 2)
    assert found.pitches == (48, 52, 55, 60)
    held, at_once = found.evidence
    # The first note sounds for nine tenths of its second; the pedal lets go three seconds later.
    assert held.measured == pytest.approx(3.1)
    assert (at_once.measured, at_once.limit) == (4, 1)


def test_a_pedal_that_only_fills_the_gaps_is_a_remark() -> None:
    # A quarter of a beat after each key the pedal comes up, as the next chord is struck.
    bars = "C3:1. cc64@1.25=127 cc64@2=0 D3:1. cc64@2.25=127 cc64@3=0 E3:1. r:1"
    (found,) = findings(CHECK, f"cello 4/4 q=60 | {bars} |")
    assert found.severity is Severity.REMARK
    assert [evidence.measured for evidence in found.evidence] == [0.5]


def test_just_inside_and_just_outside() -> None:
    # A crotchet sounds for 0.9 s at q = 60; the pedal falls before and comes up 0.1 s later.
    for lifted, count in ((1.99, 0), (2.02, 1)):
        music = f"cello 4/4 q=60 | cc64@1.5=127 C3:1 r:3 cc64@{lifted}=0 |"
        assert len(findings(CHECK, music)) == count


def test_pedals_far_apart_are_two_findings_and_near_ones_one() -> None:
    bar = "cc64@1=127 C3:1 E3:1 G3:1 C4:1 | cc64@1=0 r:4"
    near, far = f"{bar} | {bar}", f"{bar} | r:4 | {bar}"
    assert len(findings(CHECK, f"cello 4/4 q=80 | {near} |")) == 1
    assert len(findings(CHECK, f"cello 4/4 q=80 | {far} |")) == 2


def test_the_limit_can_be_set_for_a_session() -> None:
    session = Session(check_params={CHECK: {"ring_s": 5}})
    assert findings(CHECK, f"cello 4/4 q=60 | {PEDALLED} |", session=session) == []


def test_a_pedal_that_the_brief_calls_a_switch_is_fine() -> None:
    switch = Switch(articulation="legato", controller=64, low=64, high=127)
    session = Session(tracks=(TrackChoice("cello", switches=(switch,)),))
    assert findings(CHECK, f"cello 4/4 q=60 | {PEDALLED} |", session=session) == []


def test_a_pedal_under_a_whole_string_patch_counts_too() -> None:
    music = "strings 4/4 q=60 program=48 | cc64@1=127 C3:1 E3:1 G3:1 C4:1 | cc64@1=0 r:4 |"
    assert len(findings(CHECK, music)) == 1


@given(st.integers(30, 240))
@settings(max_examples=20)
def test_a_pedal_pressed_in_rests_holds_nothing(bpm: int) -> None:
    music = f"cello 4/4 q={bpm} | C3:1 r:1 cc64@2=127 r:1 cc64@2.9=0 C3:1 |"
    assert findings(CHECK, music) == []
