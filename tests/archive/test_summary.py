import io
import json
from typing import Any

import pandas as pd
import pytest

from mockcheck.archive.pool import Kind
from mockcheck.archive.summary import (
    SUMMARY_COLUMNS,
    Summary,
    summarise_run,
    summary_csv,
    summary_json,
    summary_text,
)
from mockcheck.archive.tables import run_tables
from mockcheck.model.finding import Severity
from tests.archive.made_up import failed, finding, outcome, small_run, track


@pytest.fixture(scope="module")
def summary() -> Summary:
    return summarise_run(run_tables(small_run(), 4))


def row(summary: Summary, by: str, name: str) -> dict[str, Any]:
    rows = summary.rows
    (found,) = rows[(rows["by"] == by) & (rows["name"] == name)].to_dict("records")
    return {str(key): value for key, value in found.items()}


# Files of 1, 2 and 3 minutes with 100, 300 and 600 notes; four findings that count.
@pytest.mark.parametrize(
    ("by", "name", "files", "files_with", "notes", "minutes", "findings"),
    [
        ("all", "all", 3, 2, 1000, 6, 4),
        ("severity", "impossible", 3, 2, 1000, 6, 2),
        ("severity", "risky", 3, 1, 1000, 6, 2),
        ("severity", "awkward", 3, 0, 1000, 6, 0),
        ("check", "note-below-open-string", 3, 2, 1000, 6, 2),
        ("check", "run-too-fast", 3, 1, 1000, 6, 2),
        ("part", "Violin 1", 2, 2, 340, 3, 3),
        ("part", "Violin 2", 1, 1, 60, 2, 1),
        ("part", "Cello", 1, 0, 600, 3, 0),
        ("instrument", "violin", 2, 2, 400, 3, 4),
        ("instrument", "cello", 1, 0, 600, 3, 0),
        ("folder", "x", 2, 2, 400, 3, 4),
        ("folder", "y", 1, 0, 600, 3, 0),
        ("file", "x/two.mid", 1, 1, 300, 2, 3),
        ("file", "y/three.mid", 1, 0, 600, 3, 0),
    ],
)
def test_rates_are_counts_over_notes_and_minutes(
    summary: Summary,
    by: str, name: str, files: int, files_with: int, notes: int, minutes: float, findings: int,
) -> None:  # fmt: skip
    found = row(summary, by, name)
    assert (found["files"], found["files_with"]) == (files, files_with)
    assert (found["notes"], found["minutes"]) == (notes, minutes)
    assert found["findings"] == findings
    assert found["per_1000_notes"] == pytest.approx(1000 * findings / notes, abs=5e-4)
    assert found["per_minute"] == pytest.approx(findings / minutes, abs=5e-4)
    assert sum(found[severity.label] for severity in Severity) == findings


def test_files_by_outcome_are_told(summary: Summary) -> None:
    assert summary.outcomes == {"done": 3, "refused": 1}
    opening = summary_text(summary).splitlines()[0]
    assert opening == (
        "3 of 4 files reviewed (1 could not be used): 1,000 notes, 6.0 minutes of music, judged at"
        " level sight."
    )


def test_csv_and_json_hold_the_same_rows(summary: Summary) -> None:
    table = pd.read_csv(io.StringIO(summary_csv(summary)))
    document = json.loads(summary_json(summary))
    assert document["schema"] == "mockcheck.summary/1"
    assert list(table.columns) == list(SUMMARY_COLUMNS)
    assert len(document["rows"]) == len(table)
    for one, other in zip(document["rows"], table.to_dict("records"), strict=True):
        assert one == {str(key): value for key, value in other.items()}


def test_the_text_shows_most_first_and_the_rest_on_demand() -> None:
    low = finding("note-below-open-string", Severity.RISKY, 0, "Violin 1")
    outcomes = [
        outcome(f"f{number:02}.mid", 60, [track(0, "Violin 1", "violin", 100)], [low] * number)
        for number in range(30)
    ]
    summary = summarise_run(run_tables(outcomes, 4))
    lines = summary_text(summary).splitlines()
    files = [line.split()[0] for line in lines if line.startswith("  f")]
    assert files == [f"f{number:02}.mid" for number in range(29, 9, -1)]
    assert "  10 more with less or nothing; --all shows them" in lines
    assert (
        sum(line.startswith("  f") for line in summary_text(summary, show_all=True).splitlines())
        == 30
    )
    assert all(len(line) <= 100 for line in lines)
    assert "By folder" not in summary_text(summary), "there is only one"


def test_a_run_without_a_review_has_a_summary_too() -> None:
    for outcomes in ([], [failed("a.mid", Kind.CRASHED), failed("b.mid", Kind.STOPPED)]):
        summary = summarise_run(run_tables(outcomes, 4))
        assert summary_text(summary).startswith(f"0 of {len(outcomes)}" if outcomes else "0 files")
        assert json.loads(summary_json(summary))["rows"][0]["findings"] == 0
        assert summary.rows.iloc[0]["findings"] == 0


def test_a_long_path_keeps_its_end() -> None:
    name = f"{'folder/' * 10}piece.mid"
    music = [track(0, "Violin 1", "violin", 100)]
    low = finding("note-below-open-string", Severity.RISKY, 0, "Violin 1")
    text = summary_text(summarise_run(run_tables([outcome(name, 60, music, [low])], 4)))
    assert "/piece.mid " in text
    assert name not in text
