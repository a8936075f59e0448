import pytest
from hypothesis import given
from hypothesis import strategies as st

from mockcheck.model.finding import Severity
from mockcheck.model.session import Session
from tests.phrases import findings

CHECK = "note-below-open-string"

# Tunings: instrument data of the music21 package, version 10.5.1.
LOWEST = {"violin": "G3", "viola": "C3", "cello": "C2", "double bass": "E1"}
ONE_BELOW = {"violin": "F#3", "viola": "B2", "cello": "B1"}


@pytest.mark.parametrize(("instrument", "lowest"), LOWEST.items())
def test_the_open_string_itself_is_fine(instrument: str, lowest: str) -> None:
    assert findings(CHECK, f"{instrument} 4/4 q=96 | {lowest}:4 | {lowest}:2 r:2 |") == []


@pytest.mark.parametrize(("instrument", "below"), ONE_BELOW.items())
def test_one_semitone_below_is_impossible(instrument: str, below: str) -> None:
    lowest = LOWEST[instrument]
    found = findings(CHECK, f"{instrument} 4/4 q=96 | {lowest}:4 | {lowest}:2 {below}:1 r:1 |")
    assert len(found) == 1
    assert found[0].severity is Severity.IMPOSSIBLE
    assert (found[0].start.bar, found[0].start.beat) == (2, 3)
    assert found[0].evidence[0].measured == 1
    assert found[0].evidence[0].limit == 0


def test_neighbouring_low_notes_are_one_finding_and_separate_ones_are_two() -> None:
    music = "violin 4/4 q=96 | A4:1 F3:1 E3:1 A4:1 | B4:1 C5:1 D5:1 E3:1 | C5:1 D5:1 E5:1 F5:1 |"
    found = findings(CHECK, music)
    assert [finding.start.bar for finding in found] == [1, 2]
    assert found[0].pitches == (53, 52)
    assert found[0].evidence[0].measured == 3


def test_a_string_tuned_down_reaches_lower() -> None:
    music = "violin 4/4 q=96 | A4:1 F3:1 A4:2 | A4:4 |"
    session = Session(check_params={CHECK: {"tuning_down_semitones": 2}})
    assert findings(CHECK, music, session=session) == []
    assert len(findings(CHECK, music)) == 1


def test_a_bass_with_a_fifth_string_or_an_extension_makes_it_a_risk() -> None:
    found = findings(CHECK, "double bass 4/4 q=96 | G2:1 D1:1 G2:2 | A2:4 |")
    assert [finding.severity for finding in found] == [Severity.RISKY]


def test_a_part_mostly_below_is_asked_about_its_octave() -> None:
    found = findings(CHECK, "violin 4/4 q=96 | C3:1 D3:1 E3:1 F3:1 | G3:1 A3:1 G3:1 F3:1 |")
    assert "%" in found[0].message


@given(st.integers(55, 95))
def test_no_note_from_the_open_string_up_is_ever_reported(pitch: int) -> None:
    assert findings(CHECK, f"violin 4/4 q=96 | {pitch}:4 |") == []
