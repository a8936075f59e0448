"""A run over many files as three tables, the same bytes however the work was shared out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from mockcheck.archive.reviewing import Outcome
from mockcheck.errors import BadBrief
from mockcheck.model.finding import Severity
from mockcheck.model.record import ReviewRecord
from mockcheck.model.words import cell
from mockcheck.report.tables import (
    FINDING_COLUMNS,
    TRACK_COLUMNS,
    finding_row,
    table_of,
    track_row,
)

if TYPE_CHECKING:
    import pandas as pd

FORMATS = ("csv", "parquet")

FILE_COLUMNS = {
    "file": "string",
    "folder": "string",
    "outcome": "string",
    "reason": "string",
    "sha256": "string",
    "level": "string",
    "duration_s": "Float64",
    "bars": "Int64",
    "parts": "Int64",
    "notes": "Int64",
    "impossible": "Int64",
    "risky": "Int64",
    "awkward": "Int64",
    "remark": "Int64",
    "accepted": "Int64",
    "verdict": "string",
}
"""Order and kind of the columns of `files`, a row a file. `outcome` is 'done', 'refused', 'crashed'
or 'stopped', and `reason` says why there is no review; accepted findings are not counted under
their severity."""

_ALL_FINDING_COLUMNS = {"file": "string", **FINDING_COLUMNS}
_ALL_TRACK_COLUMNS = {"file": "string", **TRACK_COLUMNS}


@dataclass(frozen=True)
class RunTables:
    """The tables of a run; `file` is the key between them, `findings.track` that of `tracks`."""

    files: pd.DataFrame
    findings: pd.DataFrame
    tracks: pd.DataFrame


def run_tables(outcomes: Sequence[Outcome], middle_c_octave: int) -> RunTables:
    """The tables of what became of the files, in their order.

    Parameters
    ----------
    middle_c_octave
        How the brief names the octave of middle C, for names of pitches.
    """
    records = [
        (cell(outcome.file.name), outcome.done.value.record)
        for outcome in outcomes
        if outcome.done.value is not None
    ]
    return RunTables(
        files=table_of([_file_row(outcome) for outcome in outcomes], FILE_COLUMNS),
        findings=table_of(
            [
                {"file": name, **finding_row(finding, middle_c_octave)}
                for name, record in records
                for finding in record.findings
            ],
            _ALL_FINDING_COLUMNS,
        ),
        tracks=table_of(
            [
                {"file": name, **track_row(track, middle_c_octave)}
                for name, record in records
                for track in record.tracks
            ],
            _ALL_TRACK_COLUMNS,
        ),
    )


def write_run_tables(tables: RunTables, folder: Path, kind: str = "csv") -> list[Path]:
    """Write files, findings and tracks into an existing folder, as 'csv' or 'parquet'.

    Raises BadBrief when Parquet is asked for and its package is not installed.
    """
    if kind == "parquet":
        require_parquet()
    written = []
    for name in ("files", "findings", "tracks"):
        table, path = getattr(tables, name), folder / f"{name}.{kind}"
        if kind == "parquet":
            table.to_parquet(path, engine="pyarrow", index=False)
        else:
            table.to_csv(path, index=False, encoding="utf-8", lineterminator="\n")
        written.append(path)
    return written


def require_parquet() -> None:
    """Raise BadBrief, with the line that installs it, where Parquet cannot be written."""
    from importlib.util import find_spec

    if find_spec("pyarrow") is None:
        message = (
            "--tables parquet: the package for it is not installed;"
            " `pip install 'mockcheck[cluster]'` adds it, or take --tables csv."
        )
        raise BadBrief(message)


def _file_row(outcome: Outcome) -> dict[str, Any]:
    done = outcome.done
    row: dict[str, Any] = dict.fromkeys(FILE_COLUMNS)
    row |= {
        "file": cell(outcome.file.name),
        "folder": cell(outcome.file.folder),
        "outcome": str(done.kind),
        "reason": None if done.fault is None else cell(done.fault),
        "sha256": outcome.sha256,
    }
    if done.value is not None:
        row |= _record_cells(done.value.record) | {"verdict": cell(done.value.verdict)}
    return row


def _record_cells(record: ReviewRecord) -> dict[str, Any]:
    played = [track for track in record.tracks if track.left_out is None]
    return {
        "sha256": record.sha256,
        "level": cell(record.level),
        "duration_s": round(record.duration_s, 3),
        "bars": record.bars or None,
        "parts": len({track.part for track in played}),
        "notes": sum(track.notes for track in played),
        **{severity.label: record.counts[severity] for severity in Severity},
        "accepted": sum(finding.accepted is not None for finding in record.findings),
    }
