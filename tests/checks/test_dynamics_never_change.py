from hypothesis import given, settings
from hypothesis import strategies as st

from mockcheck.model.finding import Severity
from mockcheck.model.session import Session
from tests.checks.hands import by_hand, found_in
from tests.phrases import findings

CHECK = "dynamics-never-change"
BARS = "C5:1 D5:1 E5:1 F5:1 | " * 8
DUO = (f"violin 4/4 q=60 | {BARS}", f"viola 4/4 q=60 | {BARS}")


def stepped(level: int, bars: int = 8) -> str:
    """Half of the bars at velocity 64, half at another one."""
    return f"violin 4/4 q=60 | v64 {'C5:1 D5:1 E5:1 F5:1 | ' * bars} v{level} {BARS}"


def test_an_export_with_one_velocity_is_reported_once() -> None:
    (found,) = findings(CHECK, *DUO)
    assert found.severity is Severity.REMARK
    assert (found.start.bar, found.end.bar) == (1, 8)
    assert "both parts" in found.message
    (range_,) = found.evidence
    assert (range_.measured, range_.limit) == (0, 8)


def test_two_dynamics_are_fine() -> None:
    assert findings(CHECK, stepped(80)) == []


def test_the_weight_of_a_hand_alone_is_no_dynamic() -> None:
    # Nine notes in ten lie within 3.3 standard deviations of 2 steps, 6.6 steps.
    assert len(found_in(CHECK, by_hand(DUO[0] + BARS, touch=2.0))) == 1
    assert found_in(CHECK, by_hand(DUO[0] + BARS, touch=6.0)) == []


def test_one_accent_is_no_dynamic() -> None:
    accented = DUO[0].replace("| C5:1 D5:1", "| v120 C5:1 v80 D5:1", 1)
    assert len(findings(CHECK, accented)) == 1


def test_just_inside_and_just_outside() -> None:
    assert len(findings(CHECK, stepped(71))) == 1
    assert findings(CHECK, stepped(72)) == []


def test_a_drawn_controller_is_a_dynamic_under_one_velocity() -> None:
    drawn = DUO[0].replace("| C5", "| cc11@1=60 cc11@9=90 C5", 1)
    assert findings(CHECK, drawn) == []


def test_a_swell_inside_each_note_is_one_too() -> None:
    bar = "cc11@1=50 cc11@2=90 cc11@3=50 C5:4 | "
    assert findings(CHECK, f"violin 4/4 q=60 | {bar * 20}") == []


def test_only_the_parts_it_is_true_of_are_named() -> None:
    (found,) = findings(CHECK, stepped(100), DUO[1])
    assert "Viola" in found.message
    assert "Violin" not in found.message
    assert found.part == "Viola"


def test_of_many_parts_three_are_named_and_the_others_counted() -> None:
    names = ("violin 1", "violin 2", "viola 1", "viola 2", "cello")
    flat = [f"{name} 4/4 q=60 | {BARS.replace('5', '4')}" for name in names]
    (found,) = findings(CHECK, *flat, stepped(100).replace("violin", "solo violin"))
    assert "in Violin 1, Violin 2, Viola 1 and 2 more:" in found.message


def test_a_short_part_may_stay_at_one_dynamic() -> None:
    assert findings(CHECK, f"violin 4/4 q=60 | {'C5:1 D5:1 E5:1 F5:1 | ' * 7}") == []
    assert findings(CHECK, f"violin 4/4 q=60 | {'C5:4 | ' * 15}") == []
    assert len(findings(CHECK, f"violin 4/4 q=60 | {'C5:4 | ' * 16}")) == 1


def test_the_limit_can_be_set_for_a_session() -> None:
    session = Session(check_params={CHECK: {"least_s": 600}})
    assert findings(CHECK, *DUO, session=session) == []


def test_it_stands_beside_the_highest_part_whatever_the_order_of_tracks() -> None:
    (one,), (other,) = findings(CHECK, *DUO), findings(CHECK, *reversed(DUO))
    assert (one.id, one.part) == (other.id, "Violin")


@given(st.integers(1, 127), st.integers(40, 120))
@settings(max_examples=20)
def test_it_does_not_matter_which_dynamic_never_changes(velocity: int, bpm: int) -> None:
    music = f"violin 4/4 q={bpm} | v{velocity} {BARS * 3}"
    assert len(findings(CHECK, music)) == 1
