import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mockcheck.model.finding import Finding, Severity
from mockcheck.model.session import Session, TrackChoice
from tests.phrases import findings

CHECK = "more-voices-than-players"

UPPER = "E5:1 F5:1 G5:1 F5:1 | E5:1 D5:1 E5:1 F5:1 | G5:1 F5:1 E5:1 D5:1 |"
LOWER = "r:1/2 G4:3/2 A4:2 | B4:2 A4:2 | G4:2 A4:2 |"


def two_lines(players: int, rest: str = "", **limits: float) -> list[Finding]:
    """What is said of two lines on two tracks of one part."""
    choice = TrackChoice("*", instrument="violin", part="Violin")
    session = Session(tracks=(choice,), players={"Violin": players}, check_params={CHECK: limits})
    upper, lower = f"violin 4/4 q=90 | {rest}{UPPER}", f"violin 4/4 | {rest}{LOWER}"
    return findings(CHECK, upper, lower, session=session)


def test_a_line_and_a_few_double_stops_are_fine_for_one_player() -> None:
    assert findings(CHECK, "violin 4/4 q=90 players=1 | A4:1 D4+B4:1 D4+A4:2 | E5:4 |") == []


def test_two_lines_are_fine_for_two_players_and_too_many_for_one() -> None:
    assert two_lines(2) == []
    assert len(two_lines(1)) == 1


def test_lines_and_players_are_named_at_the_right_place() -> None:
    found = two_lines(1, rest="r:4 | ")
    assert [(finding.severity, finding.start.bar) for finding in found] == [(Severity.AWKWARD, 2)]
    evidence = found[0].evidence[0]
    assert (evidence.measured, evidence.limit, evidence.unit) == (2, 1, "players")
    assert found[0].family == "realism"
    assert 0.5 < found[0].confidence <= 1


@pytest.mark.parametrize(("seconds", "expected"), [(1.4, 0), (1.7, 1)])
def test_three_notes_held_by_one_bow_just_inside_and_just_outside(
    seconds: float, expected: int
) -> None:
    # Notes of a phrase sound for nine tenths of their value.
    beats = round(seconds / 0.9, 3)
    rest = round(8 - beats, 3)
    found = findings(CHECK, f"violin 4/4 q=60 players=1 | G3+D4+B4:{beats} r:{rest} |")
    assert len(found) == expected
    if found:
        assert [row.measured for row in found[0].evidence] == [3, pytest.approx(seconds, abs=0.01)]


def test_three_notes_held_by_a_section_are_the_chord_checks_business() -> None:
    assert findings(CHECK, "violin 4/4 q=60 players=8 | G3+D4+B4:4 |") == []
    assert findings("chord-needs-divisi", "violin 4/4 q=60 players=8 | G3+D4+B4:4 |") != []


def test_what_no_hand_holds_is_left_to_the_chord_checks() -> None:
    close = "violin 4/4 q=60 players=1 | G3+A3+B3:4 | G3+A3:4 |"
    assert findings(CHECK, close) == []
    assert findings("chord-needs-divisi", close) != []


def test_limits_can_be_set_for_a_session() -> None:
    session = Session(check_params={CHECK: {"least_held_s": 10}})
    held = "violin 4/4 q=60 players=1 | G3+D4+B4:4 |"
    assert len(findings(CHECK, held)) == 1
    assert findings(CHECK, held, session=session) == []


def test_two_lines_for_a_moment_are_let_pass() -> None:
    assert len(two_lines(1)) == 1
    assert two_lines(1, least_lines_s=60) == []


def test_chords_close_together_are_one_finding() -> None:
    found = findings(CHECK, "violin 4/4 q=60 players=1 | G3+D4+B4:4 | G3+D4+B4:4 | G3+D4+B4:4 |")
    assert len(found) == 1
    assert len(found[0].pitches) == 9


def test_three_lines_are_too_many_for_two_players() -> None:
    low = "r:1 G3:3 | G3:1 A3:3 | G3:4 |"
    choice = TrackChoice("*", instrument="violin", part="Violin")
    texts = (f"violin 4/4 q=60 | {UPPER}", f"violin 4/4 | {LOWER}", f"violin 4/4 | {low}")
    for players, expected in ((2, 1), (3, 0)):
        session = Session(tracks=(choice,), players={"Violin": players})
        assert len(findings(CHECK, *texts, session=session)) == expected


@given(st.integers(1, 12))
@settings(max_examples=12)
def test_more_players_are_never_worse(players: int) -> None:
    assert len(two_lines(players + 1)) <= len(two_lines(players))
