from hypothesis import given, settings
from hypothesis import strategies as st

from mockcheck.model.finding import Severity
from tests.phrases import findings

CHECK = "chord-out-of-reach"

# A tenth is about the widest two-note chord one violinist stops: common practice, no source.
TENTH, THIRTEENTH = "A3+C5", "A3+F5"


def test_sixths_and_octaves_lie_well() -> None:
    assert findings(CHECK, "violin 4/4 q=96 players=1 | B3+G4:2 B3+B4:2 |") == []


def test_wider_than_a_tenth_is_impossible_for_one_player() -> None:
    found = findings(CHECK, f"violin 4/4 q=96 players=1 | D4:2 {THIRTEENTH}:2 |")
    assert [finding.severity for finding in found] == [Severity.IMPOSSIBLE]
    assert (found[0].start.bar, found[0].start.beat) == (1, 3)
    assert found[0].evidence[0].measured > found[0].evidence[0].limit


def test_a_section_can_share_it() -> None:
    found = findings(CHECK, f"violin 4/4 q=96 players=8 | {THIRTEENTH}:4 |")
    assert [finding.severity for finding in found] == [Severity.RISKY]


def test_a_tenth_is_a_stretch_whose_weight_depends_on_the_level() -> None:
    music = f"violin 4/4 q=96 players=1 level={{}} | {TENTH}:4 |"
    at = {level: findings(CHECK, music.format(level)) for level in ("sight", "rehearsed", "solo")}
    assert [finding.severity for finding in at["sight"]] == [Severity.AWKWARD]
    assert [finding.severity for finding in at["rehearsed"]] == [Severity.REMARK]
    assert at["solo"] == []
    assert "ask the player" in at["sight"][0].suggestion


def test_just_inside_and_just_outside_the_widest_stretch() -> None:
    inside = findings(CHECK, "violin 4/4 q=96 players=1 level=solo | A3+C5:4 |")
    outside = findings(CHECK, "violin 4/4 q=96 players=1 level=solo | A3+D5:4 |")
    assert inside == []
    assert [finding.severity for finding in outside] == [Severity.IMPOSSIBLE]


def test_an_open_string_makes_any_distance_fine() -> None:
    assert findings(CHECK, "violin 4/4 q=96 players=1 | G3+C5:4 |") == []


@given(st.integers(57, 61))
@settings(max_examples=10)
def test_a_stopped_sixth_in_first_position_is_never_out_of_reach(low: int) -> None:
    assert findings(CHECK, f"violin 4/4 q=96 players=1 | {low}+{low + 9}:4 |") == []
