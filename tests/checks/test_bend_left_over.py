import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mockcheck.checks._registry import all_checks
from mockcheck.model.finding import Severity
from mockcheck.model.session import Session
from tests.phrases import findings, phrase

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
@settings(max_examples=20)
def test_without_bends_there_is_nothing(bpm: int) -> None:
    assert findings(CHECK, f"cello 4/4 q={bpm} | C3:1 D3:1 E3:2 |") == []


def shaken(middle: float, width: float = 30) -> str:
    """Two plain notes and one long one with vibrato of 6 swings a second around a pitch."""
    swings = " ".join(
        f"bend@{1 + step / 50:.2f}="
        f"{round(middle + width / 2 * math.sin(2 * math.pi * 6 * step / 50))}"
        for step in range(190)
    )
    return f"violin 4/4 q=60 | A4:2 B4:2 | {swings} D5:4 | bend@1=0 A4:4 |"


def test_vibrato_around_a_pitch_that_is_not_the_notes_is_left_over_too() -> None:
    (found,) = findings(CHECK, shaken(50))
    assert found.pitches == (74,)
    assert found.evidence[0].measured == pytest.approx(50, abs=10)


@pytest.mark.parametrize("middle", [-20, 0, 20])
def test_vibrato_around_the_note_is_fine(middle: float) -> None:
    # Players' intonation spreads by 10 to 20 cents.
    assert findings(CHECK, shaken(middle)) == []


def test_without_notes_or_intonation_nothing_is_found() -> None:
    part = phrase(shaken(50))
    check = all_checks()[CHECK]
    assert len(list(check.find(part, check.params()))) == 1
    assert list(check.find(replace(part, intonation=None), check.params())) == []
    none = np.zeros(0, np.int64)
    silent = replace(part, notes=part.notes.select(none), bend_at_onset_cents=np.zeros(0))
    assert list(check.find(silent, check.params())) == []
