import csv
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mockcheck.model.finding import Severity
from mockcheck.model.session import Session
from tests.phrases import findings

CHECK = "double-stop-on-one-string"
REFERENCE = Path(__file__).parent.parent.parent / "fixtures" / "reference" / "double_stops.csv"


def test_a_sixth_on_two_strings_is_fine() -> None:
    assert findings(CHECK, "violin 4/4 q=96 players=1 | G3+E4:2 A3+F4:2 |") == []


def test_two_notes_under_the_second_string_are_found_at_their_beat() -> None:
    found = findings(CHECK, "violin 4/4 q=96 players=1 | G3:1 A3:1 G3+A3:2 | D4:4 |")
    assert [finding.severity for finding in found] == [Severity.IMPOSSIBLE]
    assert (found[0].start.bar, found[0].start.beat) == (1, 3)
    assert found[0].pitches == (55, 57)


def test_the_open_string_itself_is_the_last_note_that_fits() -> None:
    assert findings(CHECK, "violin 4/4 q=96 players=1 | G3+D4:4 |") == []
    assert len(findings(CHECK, "violin 4/4 q=96 players=1 | G3+C#4:4 |")) == 1


def test_a_section_can_share_it_which_is_a_risk() -> None:
    found = findings(CHECK, "violin 4/4 q=96 players=8 | G3+A3:4 |")
    assert [finding.severity for finding in found] == [Severity.RISKY]
    assert "4 players" in found[0].suggestion


def test_chords_in_a_row_are_one_finding() -> None:
    found = findings(CHECK, "violin 4/4 q=96 players=1 | G3+A3:1 G3+B3:1 A3+C4:1 D4:1 | G3+A3:4 |")
    assert [finding.start.bar for finding in found] == [1, 2]


def test_how_pitches_are_named_follows_the_brief() -> None:
    session = Session(middle_c_octave=3)
    found = findings(CHECK, "violin 4/4 q=96 players=1 | G3+A3:4 |", session=session)
    assert "G2" in found[0].message


def test_lines_on_parts_of_their_own_are_fine() -> None:
    parts = "violin 1 4/4 q=96 players=1 | A3:4 |", "violin 2 4/4 players=1 | G3:4 |"
    assert findings(CHECK, *parts) == []


SECOND_STRING = {"violin": 62, "viola": 55, "cello": 43}
ONE_STRING = [
    row
    for row in csv.DictReader(REFERENCE.read_text(encoding="utf-8").splitlines())
    if row["verdict"] == "impossible"
    and row["instrument"] in SECOND_STRING
    and SECOND_STRING[row["instrument"]] - 7 <= int(row["lower_midi"])
    and int(row["lower_midi"]) < int(row["upper_midi"]) < SECOND_STRING[row["instrument"]]
]


@pytest.mark.parametrize("row", ONE_STRING, ids=lambda row: row["lower_name"] + row["upper_name"])
def test_every_such_chord_of_the_reference_table_is_found(row: dict[str, str]) -> None:
    # fixtures/reference/double_stops.csv, with its source in each row.
    chord = f"{row['lower_midi']}+{row['upper_midi']}"
    assert len(findings(CHECK, f"{row['instrument']} 4/4 q=96 players=1 | {chord}:4 |")) == 1


@given(st.integers(55, 61), st.integers(62, 80))
@settings(max_examples=30)
def test_a_note_on_either_side_of_the_open_string_never_shares_a_string(low: int, up: int) -> None:
    assert findings(CHECK, f"violin 4/4 q=96 players=1 | {low}+{up}:4 |") == []
