from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mockcheck.model.finding import Severity
from mockcheck.model.session import Session
from tests.checks.releases import Sounding, findings_with_releases
from tests.phrases import findings

CHECK = "release-runs-on"
LINE = "violin players=8 4/4 q=60 | r:4 | C5:2 E5:2 | D5:2 F5:2 | E5:2 G5:2 | F5:2 A5:2 | r:4 |"
"""Eight notes of two seconds, 0 to 7."""


def held(seconds: float, *numbers: int) -> Callable[[Sounding], float]:
    """These notes go on so long behind the next onset; at q = 60 a second has 480 ticks."""
    return lambda note: note.following + 480 * seconds if note.number in numbers else note.release


def test_separate_notes_and_slurs_are_fine() -> None:
    assert findings(CHECK, LINE) == []
    assert findings(CHECK, LINE.replace("C5:2", "(C5:2").replace("A5:2", "A5:2)")) == []


def test_a_note_held_across_a_second_until_nothing_happens_is_a_remark() -> None:
    # E5 (1) is held 1.2 of the 2 s of D5: a second, and nothing begins or ends there.
    (found,) = findings_with_releases(CHECK, LINE, release=held(1.2, 1))
    assert found.severity is Severity.REMARK
    assert (found.start.bar, found.start.beat) == (2, 3)
    assert found.pitches == (76,)
    assert found.evidence[0].measured == pytest.approx(1.2)


def test_just_inside_and_just_outside() -> None:
    for seconds, count in ((0.99, 0), (1.01, 1)):
        assert len(findings_with_releases(CHECK, LINE, release=held(seconds, 1))) == count


def test_a_line_in_which_every_note_runs_on_is_one_finding() -> None:
    (found,) = findings_with_releases(CHECK, LINE, release=held(1.5, *range(7)))
    assert len(found.pitches) == 7


def test_a_held_note_that_ends_with_the_moving_one_is_a_double_stop() -> None:
    # C5 (0) ends where E5 ends, written a tenth short like every note.
    assert findings_with_releases(CHECK, LINE, release=held(1.8, 0)) == []


def test_a_third_that_is_held_by_itself_may_be_meant() -> None:
    assert findings_with_releases(CHECK, LINE, release=held(1.2, 0)) == []


def test_suspensions_that_end_where_the_voice_moves_on_are_two_voices() -> None:
    chain = "violin players=8 4/4 q=60 | C5:2 E5:2 | C5:2 F5:2 | D5:2 F5:2 | E5:2 G5:2 |"
    assert findings_with_releases(CHECK, chain, release=held(2, 0, 2, 4)) == []


def test_players_who_enter_one_after_another_and_stop_together_are_fine() -> None:
    stack = "violin players=8 4/4 q=60 | C5:1 E5:1 G5:1 C6:1 | r:4 |"
    all_end = findings_with_releases(CHECK, stack, release=lambda note: max(4 * 480, note.release))
    assert all_end == []


def test_plucked_notes_ring_as_they_like() -> None:
    plucked = LINE.replace("violin", "violin pizz", 1)
    assert findings_with_releases(CHECK, plucked, release=held(1.5, *range(7))) == []


def test_the_limit_can_be_set_for_a_session() -> None:
    session = Session(check_params={CHECK: {"longest_overlap_s": 5}})
    running = held(1.5, *range(7))
    assert findings_with_releases(CHECK, LINE, release=running, session=session) == []


@given(st.floats(0, 0.9))
@settings(max_examples=20)
def test_no_overlap_under_the_limit_is_reported(seconds: float) -> None:
    assert findings_with_releases(CHECK, LINE, release=held(seconds, *range(7))) == []
