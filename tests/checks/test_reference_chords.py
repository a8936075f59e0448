import csv
from pathlib import Path

import pytest

from mockcheck.checks._registry import all_checks
from mockcheck.checks._runner import run_checks
from mockcheck.model.finding import Severity
from tests.phrases import played

REFERENCE = Path(__file__).parent.parent.parent / "fixtures" / "reference"
LOOKING = {
    check_id: item for check_id, item in all_checks().items() if item.family in ("chords", "range")
}


def rows(verdict: str) -> list[tuple[str, str]]:
    """Instrument and chord of every row of both tables with this verdict; sources in each row."""
    found = []
    for table in ("double_stops.csv", "triple_quad_stops.csv"):
        for row in csv.DictReader((REFERENCE / table).read_text(encoding="utf-8").splitlines()):
            text = (
                row["pitches"] if "pitches" in row else f"{row['lower_midi']} {row['upper_midi']}"
            )
            pitches = text.split()
            if row["verdict"] == verdict and len(set(pitches)) == len(pitches):
                found.append((row["instrument"], "+".join(pitches)))
    return found


def worst(instrument: str, chord: str) -> Severity | None:
    score = played(f"{instrument} 4/4 q=80 players=1 level=solo | {chord}:1 r:3 | {chord}:1 r:3 |")
    found = run_checks(score, LOOKING, raise_crashes=True).findings
    return max((finding.severity for finding in found), default=None)


# Basses with a fifth string or an extension reach lower, so there it is a risk.
IMPOSSIBLE = [row for row in rows("impossible") if row != ("double bass", "27+33")]


@pytest.mark.parametrize(("instrument", "chord"), IMPOSSIBLE)
def test_an_impossible_chord_of_the_tables_is_impossible_for_one_player(
    instrument: str, chord: str
) -> None:
    assert worst(instrument, chord) is Severity.IMPOSSIBLE


def test_no_easy_or_possible_chord_of_the_tables_is_reported_to_a_soloist() -> None:
    lies_well = rows("easy") + rows("possible")
    assert len(lies_well) > 400
    reported = [row for row in lies_well if (worst(*row) or 0) > Severity.REMARK]
    assert reported == []
