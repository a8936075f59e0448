import csv
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mockcheck.model.finding import Severity
from mockcheck.model.session import Session
from mockcheck.units import pitch_name
from tests.phrases import findings

CHECK = "harmonic-not-available"
TABLE = Path(__file__).parent.parent.parent / "fixtures" / "reference" / "harmonics.csv"


def harmonics(notes: str, name: str = "violin harmonics", options: str = "players=8") -> str:
    return f"{name} {options} 4/4 q=60 | {notes} |"


def natural_harmonics(instrument: str) -> set[int]:
    """Sounding pitches of the partials 2 to 4, which every treatise gives."""
    with TABLE.open(encoding="utf-8", newline="") as lines:
        return {
            int(row["sounding_midi"])
            for row in csv.DictReader(lines)
            if (row["instrument"], row["kind"]) == (instrument, "natural")
            and row["partial"] in {"2", "3", "4"}
        }


@pytest.mark.parametrize("instrument", ["violin", "viola", "cello"])
def test_natural_harmonics_of_the_tables_are_fine(instrument: str) -> None:
    pitches = natural_harmonics(instrument)
    assert len(pitches) > 8
    notes = " ".join(f"{pitch_name(pitch)}:4 |" for pitch in sorted(pitches))
    assert findings(CHECK, harmonics(notes, f"{instrument} harmonics")) == []


def test_the_g_a_fifth_above_the_octave_is_fine() -> None:
    # G5 sounds as touched C on the open G string: common practice, no source.
    assert findings(CHECK, harmonics("G5:4")) == []


def test_a_harmonic_on_a_low_note_is_impossible() -> None:
    found = findings(CHECK, harmonics("G5:4 | G3:2 Ab3:1 A3:1"))
    assert [finding.severity for finding in found] == [Severity.IMPOSSIBLE]
    assert (found[0].start.bar, found[0].start.beat) == (2, 1)
    assert found[0].pitches == (55, 56, 57)
    assert (found[0].evidence[0].measured, found[0].evidence[0].limit) == (0, 1)


def test_the_lowest_harmonic_is_the_octave_of_the_lowest_string() -> None:
    assert findings(CHECK, harmonics("G4:4")) == []
    assert len(findings(CHECK, harmonics("F#4:4"))) == 1


def test_the_tolerance_can_be_set_for_a_session() -> None:
    # The third partial lies 2 cents off the tempered twelfth (arithmetic); the B above the low E
    # string is no other partial of a bass in fourths, and too low for an artificial harmonic.
    session = Session(check_params={CHECK: {"tolerance_cents": 1}})
    music = harmonics("B2:4", "double bass harmonics")
    assert findings(CHECK, music) == []
    assert len(findings(CHECK, music, session=session)) == 1


def test_an_ordinary_note_is_another_question() -> None:
    assert findings(CHECK, harmonics("Ab3:4", "violin")) == []


def test_a_good_harmonic_between_two_bad_ones_parts_them() -> None:
    found = findings(CHECK, harmonics("Ab3:1 G5:1 A3:1 G5:1"))
    assert [finding.pitches for finding in found] == [(56,), (57,)]


def test_far_apart_harmonics_are_reported_apart() -> None:
    assert len(findings(CHECK, harmonics("Ab3:4 | r:4 | r:4 | Ab3:4"))) == 2


def test_what_only_soloists_do_is_risky_for_a_section() -> None:
    # Artificial harmonics of the bass are for soloists: from memory.
    bass = "double bass harmonics"
    hard = [
        pitch
        for pitch in range(40, 72)
        if findings(CHECK, harmonics(f"{pitch}:4", bass))
        and findings(CHECK, harmonics(f"{pitch}:4", bass))[0].severity is Severity.RISKY
    ]
    assert hard
    for pitch in hard:
        (alone,) = findings(CHECK, harmonics(f"{pitch}:4", bass, "players=1"))
        assert alone.severity is Severity.AWKWARD


@given(st.integers(55, 66))
@settings(max_examples=12)
def test_nothing_below_the_octave_of_the_lowest_string_is_a_harmonic(pitch: int) -> None:
    (found,) = findings(CHECK, harmonics(f"{pitch}:4"))
    assert found.severity is Severity.IMPOSSIBLE
