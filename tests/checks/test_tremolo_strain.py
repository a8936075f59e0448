import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mockcheck.model.finding import Finding, Severity
from mockcheck.model.session import Session
from tests.phrases import findings

CHECK = "tremolo-strain"
FORTE = "cc11@1=90 cc11@2=102 cc11@3=90 cc11@4=102"


def tremolo(bars: int, dynamic: str = FORTE, name: str = "violin tremolo") -> list[Finding]:
    """Bars of four seconds in tremolo."""
    held = " | ".join(["C5:4"] * bars)
    return findings(CHECK, f"{name} players=8 4/4 q=60 | r:4 | {dynamic} {held} |")


def test_a_loud_tremolo_of_some_bars_is_fine() -> None:
    assert tremolo(4) == []


def test_a_minute_and_a_half_is_awkward_and_half_a_minute_a_remark() -> None:
    # 30 to 90 s of loud tremolo: common practice, no source.
    (remark,), (awkward,) = tremolo(12), tremolo(30)
    assert (remark.severity, awkward.severity) == (Severity.REMARK, Severity.AWKWARD)
    assert (remark.start.bar, remark.start.beat) == (2, 1)
    assert remark.end.bar == 13
    assert remark.evidence[0].measured == pytest.approx(47.6)
    assert (remark.evidence[0].limit, awkward.evidence[0].limit) == (30, 90)


def test_just_inside_and_just_outside() -> None:
    # The last bar sounds for nine tenths: 7 bars and 3.6 s are 31.6 s, 27.6 s one bar less.
    assert tremolo(7) == []
    assert len(tremolo(8)) == 1


def test_a_rest_of_a_bar_sets_the_arm_free() -> None:
    music = f"violin tremolo players=8 4/4 q=60 | {FORTE} {'C5:4 | ' * 6} r:4 | {'C5:4 | ' * 6}"
    assert findings(CHECK, music) == []


def test_two_tracks_of_one_part_tire_the_same_arm() -> None:
    one = f"violin tremolo players=8 4/4 q=60 | {FORTE} {'C5:4 | ' * 6}"
    two = f"violin tremolo 2nd 4/4 q=60 | {'r:4 | ' * 6} {FORTE} {'E5:4 | ' * 6}"
    assert findings(CHECK, one) == []
    found = findings(CHECK, one, two.replace("violin tremolo 2nd", "violin trem"))
    assert [finding.evidence[0].measured for finding in found] == [pytest.approx(47.6)]


def test_the_limit_can_be_set_for_a_session() -> None:
    session = Session(check_params={CHECK: {"tiring_s": 10}})
    music = f"violin tremolo players=8 4/4 q=60 | {FORTE} {'C5:4 | ' * 4}"
    assert len(findings(CHECK, music, session=session)) == 1
    assert findings(CHECK, music) == []


def test_soft_tremolo_is_fine() -> None:
    assert tremolo(40, FORTE.replace("90", "40").replace("102", "60")) == []


def test_a_held_note_is_no_tremolo() -> None:
    assert tremolo(40, name="violin") == []


def test_repeated_notes_heard_as_tremolo_count() -> None:
    bar = " ".join(["C5:1/8"] * 32)
    music = f"violin players=8 4/4 q=80 | {FORTE} {f'{bar} | ' * 12}"
    assert [finding.severity for finding in findings(CHECK, music)] == [Severity.REMARK]


def test_the_player_decides() -> None:
    assert "professional advice" in tremolo(12)[0].suggestion


@given(st.integers(1, 40))
@settings(max_examples=20)
def test_more_of_it_is_never_better(bars: int) -> None:
    def worst(count: int) -> int:
        return max((finding.severity for finding in tremolo(count)), default=0)

    assert worst(bars) <= worst(bars + 3)
