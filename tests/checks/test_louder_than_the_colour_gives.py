import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mockcheck.model.finding import Finding, Severity
from mockcheck.model.session import Session
from tests.phrases import findings

CHECK = "louder-than-the-colour-gives"


def at(level: int, name: str, session: Session | None = None) -> list[Finding]:
    """A bar at one velocity after a soft one."""
    return findings(
        CHECK, f"{name} 4/4 q=60 | v50 C5:1 D5:1 E5:1 D5:1 | v{level} C5:2 D5:2 |", session=session
    )


@pytest.mark.parametrize(
    ("name", "limit"),
    [
        ("violin con sordino", 105),
        ("violin sul tasto", 96),
        ("violin harmonics", 105),
        ("violin col legno", 105),
    ],
)
def test_each_colour_has_a_dynamic_at_which_it_has_no_more_to_give(name: str, limit: int) -> None:
    assert at(limit - 1, name) == []
    (found,) = at(limit, name)
    assert found.severity is Severity.REMARK
    assert (found.start.bar, found.start.beat) == (2, 1)
    (loudness,) = found.evidence
    assert (loudness.measured, loudness.limit) == (limit, limit)


@pytest.mark.parametrize("name", ["violin", "violin pizz", "violin sul ponticello", "viola trem"])
def test_other_sounds_may_be_as_loud_as_they_like(name: str) -> None:
    assert at(127, name) == []


def test_a_mute_turned_up_by_a_controller_counts_and_its_velocity_then_does_not() -> None:
    drawn = "violin con sord 4/4 q=60 | cc11@1=60 v{velocity} C5:4 | cc11@1={level} C5:4 |"
    assert len(findings(CHECK, drawn.format(velocity=60, level=120))) == 1
    assert findings(CHECK, drawn.format(velocity=127, level=80)) == []


def test_an_accent_is_no_passage() -> None:
    accent = "v50 C5:1 D5:1 v120 E5:1 v50 D5:1"
    assert findings(CHECK, f"violin con sordino 4/4 q=60 | {accent} |") == []
    assert (
        len(findings(CHECK, f"violin con sordino 4/4 q=60 | {accent} | " + f"{accent} | " * 2)) == 1
    )


def test_passages_of_one_colour_are_one_finding() -> None:
    passage = "v120 C5:2 D5:2 | v50 C5:4 | r:4 | r:4 | "
    (found,) = findings(CHECK, f"violin con sordino 4/4 q=60 | {passage * 3}")
    assert (found.start.bar, found.end.bar, len(found.pitches)) == (1, 9, 6)


def test_the_limit_can_be_set_for_a_session() -> None:
    session = Session(check_params={CHECK: {"con_sordino_below": 128}})
    assert at(127, "violin con sordino", session) == []


@given(st.integers(1, 127))
@settings(max_examples=20)
def test_softer_is_never_worse(level: int) -> None:
    here, softer = (len(at(value, "violin sul tasto")) for value in (level, max(level - 10, 1)))
    assert softer <= here
