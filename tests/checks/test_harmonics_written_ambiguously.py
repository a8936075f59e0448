import csv
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mockcheck.model.finding import Severity
from mockcheck.model.session import Session
from mockcheck.units import pitch_name
from tests.phrases import findings

CHECK = "harmonics-written-ambiguously"
TABLE = Path(__file__).parent.parent.parent / "fixtures" / "reference" / "harmonics.csv"


def harmonics(notes: str, name: str = "violin harmonics", options: str = "players=8") -> str:
    return f"{name} {options} 4/4 q=60 | {notes} |"


def touched_fourths(instrument: str) -> list[tuple[int, int]]:
    """Touched note and sound of the fourth on each open string, as the tables have them."""
    with TABLE.open(encoding="utf-8", newline="") as lines:
        return [
            (int(row["open_or_stopped_midi"]) + 5, int(row["sounding_midi"]))
            for row in csv.DictReader(lines)
            if (row["instrument"], row["kind"], row["touched_semitones_above"])
            == (instrument, "natural", "5")
        ]


def test_ordinary_notes_are_another_question() -> None:
    assert findings(CHECK, harmonics("D5:4", "violin")) == []


def test_d_above_the_a_string_is_an_octave_or_a_touched_fourth() -> None:
    # D5 is the octave of the D string (62 + 12); touched on the A string it sounds A6 (69 + 24).
    found = findings(CHECK, harmonics("r:4 | D5:4"))
    assert [finding.severity for finding in found] == [Severity.AWKWARD]
    assert (found[0].start.bar, found[0].start.beat, found[0].pitches) == (2, 1, (74,))
    assert (found[0].evidence[0].measured, found[0].evidence[0].limit) == (2, 1)
    assert "D5" in found[0].message
    assert "A6" in found[0].message


@pytest.mark.parametrize("instrument", ["violin", "viola", "cello"])
def test_a_touched_fourth_of_the_tables_is_told_with_what_it_sounds(instrument: str) -> None:
    rows = touched_fourths(instrument)
    assert len(rows) == 4
    told = 0
    for touched, sounds in rows:
        music = harmonics(f"{pitch_name(touched)}:4", f"{instrument} harmonics")
        for finding in findings(CHECK, music):
            assert pitch_name(sounds) in finding.message
            told += 1
    # The fourth above the lowest string is too low to be a sound.
    assert told >= 2


def test_what_is_too_low_to_sound_is_where_the_finger_is() -> None:
    # No violin harmonic sounds below G4; the touched C4 on the G string does.
    assert findings(CHECK, harmonics("C4:4")) == []


def test_what_is_too_high_for_the_finger_is_what_sounds() -> None:
    assert findings(CHECK, harmonics("A6:4")) == []


@pytest.mark.parametrize("other", ["A6", "C4"])
def test_one_note_that_is_plain_settles_its_track(other: str) -> None:
    assert len(findings(CHECK, harmonics("D5:2 A5:2"))) == 1
    assert findings(CHECK, harmonics(f"D5:2 {other}:2")) == []


def test_the_same_pitch_touched_and_sounding_is_no_question() -> None:
    # E6 is the octave of the E string, where touching and sounding agree; no finger stops so high
    # below a touched fourth without trouble.
    assert findings(CHECK, harmonics("E6:4")) == []


@pytest.mark.parametrize("level", ["rehearsed", "solo"])
def test_players_who_can_ask_get_a_remark(level: str) -> None:
    found = findings(CHECK, harmonics("D5:4", options=f"players=8 level={level}"))
    assert [finding.severity for finding in found] == [Severity.REMARK]


def test_an_artificial_reading_names_the_diamond_a_fourth_above() -> None:
    # B flat is on no open string's low partials: stopped two octaves below with the fourth touched
    # it sounds, and stopped itself it sounds two octaves higher.
    found = findings(CHECK, harmonics("Bb5:4"))
    assert "Bb7" in found[0].message
    for below, diamond in (("Bb3", "Eb4"), ("Bb5", "Eb6")):
        assert f"{below} as an ordinary note and a diamond at {diamond}" in found[0].suggestion


def test_names_follow_the_house_custom_for_middle_c() -> None:
    found = findings(CHECK, harmonics("D5:4"), session=Session(middle_c_octave=3))
    assert "D4" in found[0].message
    assert "A5" in found[0].message


def test_the_tolerance_can_be_set_for_a_session() -> None:
    # The only finger at A flat touches the E string for its fifth partial, 14 cents flat.
    strict = Session(check_params={CHECK: {"tolerance_cents": 10}})
    music = harmonics("Ab6:4")
    assert len(findings(CHECK, music)) == 1
    assert findings(CHECK, music, session=strict) == []


@settings(max_examples=30)
@given(st.lists(st.integers(55, 100), min_size=1, max_size=4))
def test_a_track_is_told_at_most_once_and_never_for_a_note_too_low(pitches: list[int]) -> None:
    notes = " | ".join(f"{pitch_name(pitch)}:4" for pitch in pitches)
    found = findings(CHECK, harmonics(notes))
    assert len(found) <= 1
    if min(pitches) < 67:
        assert found == []
