"""Statistics across many files: how much of what is found, by check, part, folder and file."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from mockcheck.archive.overview import WHY_NOT
from mockcheck.archive.tables import RunTables
from mockcheck.model.finding import Severity
from mockcheck.model.words import count_of
from mockcheck.report.review_json import json_text
from mockcheck.report.tables import table_of
from mockcheck.report.terminal import columns as terminal_columns

if TYPE_CHECKING:
    import pandas as pd

SCHEMA = "mockcheck.summary/1"
_WORST_FIRST = [severity.label for severity in sorted(Severity, reverse=True)]

SUMMARY_COLUMNS = {
    "by": "string",
    "name": "string",
    "files": "Int64",
    "files_with": "Int64",
    "notes": "Int64",
    "minutes": "Float64",
    "findings": "Int64",
    **dict.fromkeys(_WORST_FIRST, "Int64"),
    "per_1000_notes": "Float64",
    "per_minute": "Float64",
}
"""Order and kind of the columns of `summary`. `by` says what the row is about ('all', 'severity',
'check', 'part', 'instrument', 'folder' or 'file') and `name` which; `files` of which the row tells,
`files_with` those of them in which something of the kind was found. Notes and minutes are those a
finding could have stood at: of all files for a severity or a check, of the part alone (and the
files that have it) for a part or an instrument. Left-out tracks and accepted findings count
nowhere."""

_HEADINGS = {
    "check": "By check",
    "part": "By part",
    "instrument": "By instrument",
    "folder": "By folder",
    "file": "By file",
}
_MOST_FILES = 20
_NAME_WIDTH = 38


@dataclass(frozen=True)
class Summary:
    """The statistics of a run.

    Parameters
    ----------
    rows
        Columns as in SUMMARY_COLUMNS.
    outcomes
        Files by outcome.
    level
        The level of preparation in force; empty when no file was reviewed.
    """

    rows: pd.DataFrame
    outcomes: dict[str, int]
    level: str


def summarise_run(tables: RunTables) -> Summary:
    """Count what was found across all files that could be reviewed."""
    import pandas as pd

    files = tables.files[tables.files["outcome"] == "done"]
    tracks = tables.tracks[tables.tracks["left_out"].isna()]
    of_track = tracks[["file", "index", "instrument"]].rename(columns={"index": "track"})
    found = tables.findings[tables.findings["accepted"].isna()].merge(
        of_track, on=["file", "track"], how="left"
    )
    found = found.merge(files[["file", "folder"]], on="file", how="left")
    music = tracks[["file", "part", "instrument", "notes"]].merge(
        files[["file", "folder", "duration_s"]], on="file", how="left"
    )
    whole = files[["file", "folder", "notes", "duration_s"]]
    rows = [_row("all", "all", whole, found)]
    for severity in _WORST_FIRST:
        rows.append(_row("severity", severity, whole, found[found["severity"] == severity]))
    for check, those in found.groupby("check"):
        rows.append(_row("check", check, whole, those))
    for column, base in (
        ("part", music),
        ("instrument", music),
        ("folder", whole),
        ("file", whole),
    ):
        for name, of_name in base.groupby(column):
            rows.append(_row(column, name, of_name, found[found[column] == name]))
    outcomes = tables.files["outcome"].value_counts().sort_index()
    levels = sorted(files["level"].unique())
    assert isinstance(outcomes, pd.Series), "counts of one column"
    return Summary(
        table_of(rows, SUMMARY_COLUMNS),
        {str(kind): int(number) for kind, number in outcomes.items()},
        levels[0] if levels else "",
    )


def summary_csv(summary: Summary) -> str:
    """The rows as CSV."""
    text: str = summary.rows.to_csv(index=False, lineterminator="\n")
    return text


def summary_json(summary: Summary) -> str:
    """The contract `mockcheck.summary/1`: files by outcome, level, and the rows."""
    rows = summary.rows.astype(object).where(summary.rows.notna(), None).to_dict("records")
    return json_text(
        {
            "schema": SCHEMA,
            "level": summary.level,
            "outcomes": summary.outcomes,
            "rows": [{str(key): value for key, value in row.items()} for row in rows],
        }
    )


def summary_text(summary: Summary, *, show_all: bool = False) -> str:
    """The rows to be read, most first; of files the worst twenty unless `show_all`."""
    rows = summary.rows
    if not summary.outcomes.get("done"):
        return _opening(summary)
    parts = [_opening(summary), "", _head("All files"), *_lines(rows[rows["by"] == "all"])]
    parts += _lines(rows[rows["by"] == "severity"])
    for by, heading in _HEADINGS.items():
        parts += _section(rows[rows["by"] == by], by, heading, show_all)
    return "\n".join(parts)


def _section(rows: pd.DataFrame, by: str, heading: str, show_all: bool) -> list[str]:
    if rows.empty or (by == "folder" and len(rows) == 1):
        return []
    most = "per_1000_notes" if by in ("file", "folder") else "findings"
    rows = rows.sort_values([most, "name"], ascending=[False, True])
    shown = rows
    if by == "file" and not show_all:
        shown = rows[rows["findings"] > 0].iloc[:_MOST_FILES]
    lines = ["", _head(heading), *_lines(shown)]
    if len(shown) < len(rows):
        lines.append(f"  {len(rows) - len(shown):,} more with less or nothing; --all shows them")
    return lines


def _row(by: str, name: Any, music: pd.DataFrame, found: pd.DataFrame) -> dict[str, Any]:
    # A file with several tracks of a part has its length once.
    minutes = float(music.drop_duplicates("file")["duration_s"].sum()) / 60
    notes = int(music["notes"].sum())
    counts = found["severity"].value_counts()
    return {
        "by": by,
        "name": str(name),
        "files": int(music["file"].nunique()),
        "files_with": int(found["file"].nunique()),
        "notes": notes,
        "minutes": round(minutes, 3),
        "findings": len(found),
        **{severity: int(counts.get(severity, 0)) for severity in _WORST_FIRST},
        "per_1000_notes": round(1000 * len(found) / notes, 3) if notes else None,
        "per_minute": round(len(found) / minutes, 3) if minutes else None,
    }


def _opening(summary: Summary) -> str:
    total = sum(summary.outcomes.values())
    done = summary.outcomes.get("done", 0)
    others = [
        f"{summary.outcomes[kind]:,} {words}"
        for kind, words in WHY_NOT.items()
        if kind in summary.outcomes
    ]
    words = f"{count_of(total, 'file')} reviewed"
    if others:
        words = f"{done:,} of {words} ({', '.join(others)})"
    if not done:
        return f"{words}."
    every = summary.rows.iloc[0]
    return (
        f"{words}: {count_of(int(every['notes']), 'note')}, {every['minutes']:,.1f} minutes of"
        f" music, judged at level {summary.level}."
    )


def _head(title: str) -> str:
    return (
        f"{title:<{_NAME_WIDTH + 2}}{'findings':>9}{'per 1,000 notes':>17}{'per minute':>12}"
        f"{'in files':>14}"
    )


def _lines(rows: pd.DataFrame) -> list[str]:
    return [_line(row) for row in rows.to_dict("records")]


def _line(row: Any) -> str:
    import pandas as pd

    name = row["name"] or "(in no folder of its own)"
    if terminal_columns(name) > _NAME_WIDTH:
        # The end of a path tells more than its beginning.
        name = f"...{name[3 - _NAME_WIDTH :]}"
    room = " " * max(_NAME_WIDTH - terminal_columns(name), 0)
    rates = [
        "-" if pd.isna(value) else f"{value:,.2f}"
        for value in (row["per_1000_notes"], row["per_minute"])
    ]
    in_files = "" if row["by"] == "file" else f"{row['files_with']:,} of {row['files']:,}"
    numbers = f"{row['findings']:>9,}{rates[0]:>17}{rates[1]:>12}{in_files:>14}"
    return f"  {name}{room}{numbers}".rstrip()
