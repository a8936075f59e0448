import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mockcheck.model.finding import Severity
from mockcheck.model.session import Session
from tests.checks.hands import by_hand, found_in
from tests.phrases import findings

CHECK = "timing-exactly-on-the-grid"
BARS = "C5:1 D5:1/2 E5:1/2 F5:1 G5:1 | " * 8
DUO = (f"violin 4/4 q=80 | {BARS}", f"viola 4/4 q=80 | r:4 | {BARS}")
PLACES = ("1/7", "1/11", "2/11", "3/11", "5/17")


def beats(odd: int, of: int) -> str:
    """Beats of which some begin off the grid, each at another distance."""
    off = [f"r:{place} C5:{1 - as_number(place)}" for place in PLACES[:odd]]
    return " ".join([*["C5:1"] * (of - odd), *off])


def as_number(text: str) -> float:
    numerator, _, denominator = text.partition("/")
    return int(numerator) / int(denominator)


def test_two_parts_drawn_on_the_grid_are_reported_once() -> None:
    (found,) = findings(CHECK, *DUO)
    assert found.severity is Severity.REMARK
    assert (found.start.bar, found.end.bar) == (1, 8)
    assert found.part == "Violin"
    on_grid, apart = found.evidence
    assert (on_grid.measured, on_grid.limit) == (100, 90)
    assert (apart.measured, apart.limit, apart.unit) == (0, 20, "ms")


def test_parts_played_by_hand_are_fine() -> None:
    assert found_in(CHECK, by_hand(*DUO, late_ms=20)) == []


def test_one_part_by_hand_among_drawn_ones_is_enough() -> None:
    assert found_in(CHECK, by_hand(*DUO, late_ms=20, tracks=(1,))) == []


def test_a_part_alone_is_told_how_far_a_player_strays() -> None:
    (found,) = findings(CHECK, DUO[0])
    assert [item.quantity for item in found.evidence] == ["onsets on the grid"]
    assert "together" not in found.message


def test_just_inside_and_just_outside_the_share() -> None:
    # One distance from the grid counts as none: of five odd notes in 40 four are off, 90 %.
    assert findings(CHECK, f"violin 4/4 q=60 | {beats(5, 40)} |") == []
    (found,) = findings(CHECK, f"violin 4/4 q=60 | {beats(4, 40)} |")
    assert found.evidence[0].measured == 92.5


def test_short_parts_say_nothing() -> None:
    assert findings(CHECK, f"violin 4/4 q=80 | {'C5:1 ' * 31} |") == []
    assert len(findings(CHECK, f"violin 4/4 q=80 | {'C5:1 ' * 32} |")) == 1


def test_a_part_with_few_notes_does_not_hide_the_others() -> None:
    few = "cello 4/4 | r:1/7 C3:1 r:2/11 D3:1 r:3/13 E3:1 |"
    (found,) = findings(CHECK, *DUO, few)
    assert found.message.startswith("In both parts")


def test_a_track_delayed_as_a_whole_is_still_drawn() -> None:
    assert len(findings(CHECK, f"violin 4/4 q=80 | r:11/240 {BARS}")) == 1


@pytest.mark.parametrize("override", [{"exact_share": 100}, {"least_onsets": 100}])
def test_the_limits_can_be_set_for_a_session(override: dict[str, float]) -> None:
    assert findings(CHECK, *DUO, session=Session(check_params={CHECK: override})) == []


def test_it_stands_beside_the_highest_part_whatever_the_order_of_tracks() -> None:
    (one,), (other,) = findings(CHECK, *DUO), findings(CHECK, *reversed(DUO))
    assert (one.id, one.part) == (other.id, "Violin")


def test_it_is_said_to_be_fine_in_an_export_and_to_a_click() -> None:
    (found,) = findings(CHECK, *DUO)
    assert "export" in found.suggestion
    assert "click" in found.suggestion


@given(st.integers(0, 10_000), st.integers(60, 160))
@settings(max_examples=20)
def test_a_hand_at_any_tempo_is_never_taken_for_a_machine(seed: int, bpm: int) -> None:
    text = DUO[0].replace("q=80", f"q={bpm}")
    assert found_in(CHECK, by_hand(text, late_ms=10, seed=seed)) == []
