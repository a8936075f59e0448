import pytest
from hypothesis import given
from hypothesis import strategies as st

from mockcheck.model.finding import Severity
from mockcheck.model.session import Session
from tests.phrases import findings

CHECK = "note-above-range"

# Violin section top E7: Prout, The Orchestra vol. 1 (1899) p. 19. Cello: comfortable E5, solo E6:
# Widor, Technique of the Modern Orchestra (1906) p. 175. Viola section top E6: arranging handbook.
SECTION_TOP = {"violin": "E7", "viola": "E6", "cello": "A5"}
ABOVE_SECTION_TOP = {"violin": "F7", "viola": "F6", "cello": "Bb5"}


@pytest.mark.parametrize("instrument", SECTION_TOP)
def test_the_section_top_is_the_last_note_that_is_not_risky(instrument: str) -> None:
    low = {"violin": "A5", "viola": "A4", "cello": "A3"}[instrument]
    music = f"{instrument} 4/4 q=96 players=8 | {low}:4 | {low}:2 {{}}:2 |"
    inside = findings(CHECK, music.format(SECTION_TOP[instrument]))
    outside = findings(CHECK, music.format(ABOVE_SECTION_TOP[instrument]))
    assert [f.severity for f in inside] == [Severity.AWKWARD]
    assert [f.severity for f in outside] == [Severity.RISKY]
    assert (outside[0].start.bar, outside[0].start.beat) == (2, 3)
    assert outside[0].evidence[0].measured == outside[0].evidence[0].limit + 1


def test_ordinary_height_is_fine() -> None:
    assert findings(CHECK, "violin 4/4 q=96 players=8 | A5:1 E6:1 A6:2 |") == []


def test_above_the_solo_top_a_section_cannot() -> None:
    found = findings(CHECK, "violin 4/4 q=96 players=8 | A5:2 Bb7:2 |")
    assert [finding.severity for finding in found] == [Severity.IMPOSSIBLE]


def test_one_player_may_go_higher_than_a_section() -> None:
    assert findings(CHECK, "violin 4/4 q=96 players=1 | A5:2 E7:2 |") == []
    found = findings(CHECK, "violin 4/4 q=96 players=1 | A5:2 F7:2 |")
    assert [finding.severity for finding in found] == [Severity.REMARK]


def test_a_harmonic_may_lie_anywhere_up_to_the_last_partial() -> None:
    # Widor and others: harmonics reach above the stopped range; common practice, no source.
    music = "violin harmonics 4/4 q=60 players=8 | A6:2 F7:2 |"
    assert findings(CHECK, music) == []


def test_a_lower_last_partial_makes_a_soloists_note_impossible() -> None:
    music = "violin 4/4 q=96 players=1 | A5:2 Bb7:2 |"
    assert [f.severity for f in findings(CHECK, music)] == [Severity.RISKY]
    session = Session(check_params={CHECK: {"highest_harmonic_semitones": 24}})
    assert [f.severity for f in findings(CHECK, music, session=session)] == [Severity.IMPOSSIBLE]


@given(st.integers(55, 93))
def test_nothing_up_to_the_comfortable_top_is_reported(pitch: int) -> None:
    assert findings(CHECK, f"violin 4/4 q=96 players=8 | {pitch}:4 |") == []
