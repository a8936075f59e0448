from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mockcheck.checks._registry import all_checks
from mockcheck.model.finding import Finding, Severity
from mockcheck.model.session import Session
from tests.phrases import findings, phrase

CHECK = "melody-fits-lower-string"
SOFT = "cc11@1=40 cc11@3=60"
SONG = (
    f"{SOFT} (D4:2 E4:1 F4:1) | {SOFT} (G4:2 F4:1 E4:1) | {SOFT} (F4:2 D4:1 C4:1) |"
    f" {SOFT} (E4:2 D4:2) | "
)
"""Twelve notes of C4 to G4 in 16 s at q = 60: on the violin from the D string down."""
WAIT = " | ".join(["r:4"] * 12)


def cue(song: str, name: str = "violin 1", others: tuple[str, ...] = ()) -> list[Finding]:
    """A song, and two minutes later a last note."""
    end = "r:4 | " * 28
    return findings(CHECK, f"{name} players=8 4/4 q=60 | r:4 | {song} {end} C5:4 |", *others)


def test_a_soft_melody_in_the_middle_register_fits_the_g_string() -> None:
    (found,) = cue(SONG)
    assert found.severity is Severity.REMARK
    assert (found.start.bar, found.start.beat, found.end.bar) == (2, 1, 5)
    assert "'sul G'" in found.suggestion
    # G4 is the octave of the open G string.
    assert found.evidence[0].measured == 12
    assert found.evidence[1].measured < 0.5


def test_a_melody_that_goes_too_high_or_too_low_for_one_string_does_not() -> None:
    assert cue(SONG.replace("G4:2", "D5:2").replace("C4:1", "B3:1")) == []


def test_a_melody_that_lies_on_the_lowest_string_already_is_fine() -> None:
    low = SONG
    for high, lower in (("D4", "A3"), ("E4", "B3"), ("F4", "C4"), ("G4", "D4")):
        low = low.replace(high, lower)
    assert cue(low) == []


def test_the_hand_must_have_time_to_spare_on_one_string() -> None:
    music = f"violin players=8 4/4 q=60 | r:4 | {SONG} {'r:4 | ' * 28} C5:4 |"
    ratio = findings(CHECK, music)[0].evidence[1].measured
    for share, count in ((0.99, 0), (1.01, 1)):
        session = Session(check_params={CHECK: {"comfort": share * ratio}})
        assert len(findings(CHECK, music, session=session)) == count
    # Half as fast, every movement has twice the time.
    slower = music.replace("q=60", "q=30")
    assert findings(CHECK, slower)[0].evidence[1].measured == pytest.approx(ratio / 2, rel=0.01)


def test_without_a_fingering_nothing_is_known() -> None:
    part = phrase(f"violin players=8 4/4 q=60 | r:4 | {SONG} {'r:4 | ' * 28} C5:4 |")
    check = all_checks()[CHECK]
    assert len(list(check.find(part, check.params()))) == 1
    assert list(check.find(replace(part, fingering=None), check.params())) == []


def test_loud_quick_short_or_accompanying_lines_are_not_meant() -> None:
    assert cue(SONG.replace("=40", "=100").replace("=60", "=110")) == []
    assert cue(SONG.split("|")[0] + "|") == []
    above = f"violin 2 players=8 4/4 | r:4 | {'A5:4 | ' * 4}"
    assert cue(SONG, others=(above,)) == []


def test_never_on_a_short_cue() -> None:
    assert findings(CHECK, f"violin players=8 4/4 q=60 | {SONG} |") == []


def test_just_inside_and_just_outside_the_reach() -> None:
    for top, count in (("G4", 1), ("G#4", 0)):
        shifted = SONG.replace("G4:2", f"{top}:2").replace("C4:1", "A#3:1")
        found = [f for f in cue(shifted) if "'sul G'" in f.suggestion]
        assert len(found) == count


def test_once_a_cue_and_the_longest_melody() -> None:
    (found,) = cue(f"{SONG} r:4 | {SONG}{SONG}")
    assert found.start.bar == 7


def test_double_basses_are_left_out() -> None:
    assert cue(SONG.replace("4:", "2:"), name="double bass") == []


def test_the_limit_can_be_set_for_a_session() -> None:
    session = Session(check_params={CHECK: {"highest_stop_semitones": 9}})
    music = f"violin players=8 4/4 q=60 | r:4 | {SONG} {'r:4 | ' * 28} C5:4 |"
    assert len(findings(CHECK, music)) == 1
    assert findings(CHECK, music, session=session) == []


@given(st.integers(60, 110))
@settings(max_examples=10)
def test_it_is_an_offer_whatever_the_tempo(bpm: int) -> None:
    music = f"violin players=8 4/4 q={bpm} | r:4 | {SONG} {'r:4 | ' * 60} C5:4 |"
    assert all(found.severity is Severity.REMARK for found in findings(CHECK, music))
