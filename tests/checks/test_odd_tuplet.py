from dataclasses import replace

import pytest

from mockcheck.checks._registry import all_checks
from mockcheck.model.finding import Severity
from mockcheck.model.session import Session
from tests.checks.hands import by_hand, found_in
from tests.phrases import findings, phrase

CHECK = "odd-tuplet"
SCALE = "C4 D4 E4 F4 G4 A4 B4 C5 D5 E5 F5 G5 A5 B5 C6 D6 E6 F6 G6 A6 B6 C7".split()
CALM = "C4:1 D4:1 E4:1 F4:1 | " * 6


def group(notes: int, q: int = 60) -> str:
    """A beat with so many notes, in a calm melody."""
    run = " ".join(f"{pitch}:1/{notes}" for pitch in SCALE[:notes])
    return f"violin 4/4 q={q} | {CALM} C4:1 {run} D5:2 |"


@pytest.mark.parametrize("notes", [9, 10, 11, 13, 14, 17])
def test_groups_that_nobody_counts(notes: int) -> None:
    found = findings(CHECK, group(notes))
    if notes == 9:
        assert found == []
        return
    (one,) = found
    assert one.severity is Severity.AWKWARD
    assert (one.start.bar, one.start.beat) == (7, 2)
    assert len(one.pitches) == notes
    assert one.evidence[0].measured == notes
    assert f"group of {notes}" in one.message


@pytest.mark.parametrize("notes", [2, 3, 4, 6, 8, 12, 16])
def test_groups_of_twos_and_threes_are_read(notes: int) -> None:
    assert findings(CHECK, group(notes)) == []


@pytest.mark.parametrize("notes", [5, 7])
def test_fives_and_sevens_are_runs_and_a_remark_when_fast(notes: int) -> None:
    (one,) = findings(CHECK, group(notes, q=120))
    assert one.severity is Severity.REMARK
    assert findings(CHECK, group(notes, q=48)) == []


def test_what_fits_at_the_tempo_is_offered() -> None:
    (slow,), (fast,) = findings(CHECK, group(17, q=40)), findings(CHECK, group(17, q=120))
    assert "16 in the beat" in slow.suggestion
    assert "6 in the beat" in fast.suggestion
    assert fast.evidence[1].measured == 34


def test_a_group_played_by_hand_is_found_and_trusted_less() -> None:
    (one,) = found_in(CHECK, by_hand(group(13, q=54), late_ms=5))
    assert one.confidence < 1
    assert abs(one.evidence[0].measured - 13) <= 1


def test_trills_and_tremolo_are_signs() -> None:
    trill = " ".join(["C5:1/11", "D5:1/11"] * 5 + ["C5:1/11"])
    tremolo = " ".join(["C5:1/13"] * 13)
    for beat in (trill, tremolo):
        assert findings(CHECK, f"violin 4/4 q=60 | {CALM} {beat} C5:3 |") == []


def test_neighbouring_beats_are_said_once() -> None:
    run = " ".join(f"{pitch}:1/11" for pitch in SCALE[:11])
    (one,) = findings(CHECK, f"violin 4/4 q=60 | {CALM} {run} {run} C5:2 |")
    assert "2 beats running" in one.message


def test_the_limits_can_be_set_for_a_session() -> None:
    session = Session(check_params={CHECK: {"least_notes": 16}})
    assert findings(CHECK, group(13), session=session) == []


def test_a_group_with_holes_is_trusted_only_where_the_notes_lie_on_a_grid() -> None:
    tenths = " ".join(f"{'r' if place in (1, 2) else SCALE[place]}:1/10" for place in range(10))
    part = phrase(f"violin 4/4 q=40 | {CALM} C4:1 {tenths} D5:2 |")
    check = all_checks()[CHECK]
    (observed,) = check.find(part, check.params())
    assert "8 notes on 10ths" in observed.message
    assert part.written is not None
    assert part.written.is_quantised
    played_in = replace(part, written=replace(part.written, is_quantised=False))
    assert list(check.find(played_in, check.params())) == []
