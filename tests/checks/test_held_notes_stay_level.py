from hypothesis import given, settings
from hypothesis import strategies as st

from mockcheck.model.finding import Finding, Severity
from mockcheck.model.session import Session
from tests.phrases import findings

CHECK = "held-notes-stay-level"
LEVEL = "C5:4 | "
RISING = "cc11@1=60 cc11@2=68 cc11@3=76 cc11@4=84 C5:4 | "


def held(bars: str, session: Session | None = None) -> list[Finding]:
    """Bars of five seconds after one of quavers, in a part that has dynamics elsewhere."""
    opening = "cc11@1=50 cc11@2=70 A4:1 B4:1 cc11@3=60 A4:1 B4:1 | "
    return findings(CHECK, f"violin 4/4 q=48 | {opening}{bars}", session=session)


def test_a_curve_that_lies_dead_under_held_notes_is_reported_once_for_the_part() -> None:
    (found,) = held(LEVEL * 5)
    assert found.severity is Severity.REMARK
    assert (found.start.bar, found.end.bar) == (2, 6)
    notes, longest = found.evidence
    assert (notes.measured, notes.limit) == (5, 3)
    assert (longest.measured, longest.limit) == (4.5, 4)


def test_notes_that_grow_are_fine() -> None:
    assert held(RISING * 5) == []


def test_two_still_notes_may_be_meant_three_not() -> None:
    assert held(LEVEL * 2) == []
    assert len(held(LEVEL * 3)) == 1


def test_still_notes_among_more_that_move_are_meant() -> None:
    assert held(LEVEL * 3 + RISING * 4) == []
    assert len(held(LEVEL * 4 + RISING * 4)) == 1


def test_a_step_for_the_next_note_sent_a_little_early_does_not_move_this_one() -> None:
    steps = "cc11@1=60 C5:4 cc11@4.5=80 | cc11@4.5=60 D5:4 | "
    assert len(held(steps * 3)) == 1


def test_how_far_a_curve_must_move() -> None:
    def moving(steps: int) -> list[Finding]:
        return held(f"cc11@1=60 cc11@2={60 + steps} cc11@4=60 C5:4 | " * 4)

    assert len(moving(2)) == 1
    assert moving(4) == []


def test_shorter_notes_are_over_before_that() -> None:
    assert held("C5:3 r:1 | " * 6) == []


def test_plucked_notes_are_not_held() -> None:
    opening = "cc11@1=50 cc11@2=70 A4:1 B4:1 cc11@3=60 A4:1 B4:1 | "
    assert findings(CHECK, f"violin pizz 4/4 q=48 | {opening}{LEVEL * 5}") == []


UNDRAWN = "v60 A4:1 v80 B4:1 v100 C5:1 B4:1 | "


def test_parts_without_any_curve_are_reported_together() -> None:
    trio = [
        f"{name} 4/4 q=48 | {UNDRAWN}{LEVEL * bars}"
        for name, bars in (("violin", 2), ("viola", 3), ("violin 2", 1))
    ]
    assert findings(CHECK, *trio[:2]) == []
    (found,) = findings(CHECK, *trio)
    assert found.part == "Viola"
    assert "6 held notes" in found.message


def test_a_part_that_never_changes_is_left_to_the_check_that_says_so() -> None:
    assert findings(CHECK, f"violin 4/4 q=48 | {LEVEL * 20}") == []


def test_the_limit_can_be_set_for_a_session() -> None:
    assert held(LEVEL * 5, Session(check_params={CHECK: {"held_s": 5}})) == []


@given(st.integers(3, 12))
@settings(max_examples=10)
def test_more_still_notes_are_still_one_finding(bars: int) -> None:
    (found,) = held(LEVEL * bars)
    assert found.evidence[0].measured == bars
