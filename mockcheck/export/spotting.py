"""A spotting sheet: each finding with bar, beat and timecode, to lie beside the picture's."""

from __future__ import annotations

import csv
import io

from mockcheck.model.finding import Finding
from mockcheck.model.review import Review
from mockcheck.model.words import cell

COLUMNS = ("bar", "beat", "timecode", "severity", "part", "check", "message", "suggestion")
"""Order of the columns; the timecode is left out where the brief names no frame rate."""


def spotting_csv(review: Review) -> str:
    """Findings in order of time, at the frame that shows while each begins.

    Parameters
    ----------
    review
        What its brief accepts is left out; its brief names frame rate and start.

    Returns
    -------
    A table with a line for each finding, columns as in COLUMNS, one line feed a row; without the
    timecode where there is no frame rate, as `timecode_note` says.

    Source: SMPTE ST 12-1, as in `model/timecode.py`.
    """
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\n")
    has_rate = review.played.session.frame_rate is not None
    columns = [name for name in COLUMNS if name != "timecode" or has_rate]
    table.writerow(columns)
    findings = [finding for finding in review.findings if finding.accepted is None]
    for finding in sorted(findings, key=lambda finding: finding.start.time_s):
        row = _row(finding)
        table.writerow([row[name] for name in columns])
    return out.getvalue()


def timecode_note(review: Review) -> str:
    """What whoever reads the sheet has to know about its timecode, one or two sentences."""
    session, said = review.played.session, review.played.score.start_timecode
    if session.frame_rate is None:
        return (
            "No timecode: the brief names no frame rate. Write frame_rate in it, and"
            " start_timecode for where the music starts."
        )
    start = session.start_timecode or "00:00:00:00"
    note = f"Timecode at {session.frame_rate} frames a second, from {start}."
    if session.start_timecode is None and said is not None:
        note += f" The file starts at {said}: if that is right, write it as start_timecode."
    return note


def _row(finding: Finding) -> dict[str, str | int | float | None]:
    place = finding.start
    return {
        "bar": place.bar,
        "beat": place.beat,
        "timecode": place.timecode,
        "severity": finding.severity.label,
        "part": cell(finding.part),
        "check": finding.check,
        "message": cell(finding.message),
        "suggestion": cell(finding.suggestion),
    }
