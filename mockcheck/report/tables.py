"""findings.csv and tracks.csv: the tables people take away into a spreadsheet."""

from __future__ import annotations

import math
import unicodedata
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from mockcheck.model.finding import Evidence, Finding
from mockcheck.model.review import Review, TrackSummary
from mockcheck.plots._words import printable
from mockcheck.units import pitch_name

if TYPE_CHECKING:
    import pandas as pd

FINDING_COLUMNS = {
    "severity": "string",
    "family": "string",
    "check": "string",
    "part": "string",
    "track": "Int64",
    "start_bar": "Int64",
    "start_beat": "Float64",
    "start_s": "Float64",
    "end_bar": "Int64",
    "end_beat": "Float64",
    "end_s": "Float64",
    "pitches": "string",
    "message": "string",
    "suggestion": "string",
    "evidence": "string",
    "confidence": "Float64",
    "id": "string",
    "accepted": "string",
}
"""Order and kind of the columns of findings.csv; `track` is the row index in tracks.csv."""

TRACK_COLUMNS = {
    "index": "Int64",
    "name": "string",
    "part": "string",
    "instrument": "string",
    "players": "Int64",
    "confidence": "Float64",
    "notes": "Int64",
    "lowest": "string",
    "highest": "string",
    "peak_notes_per_s": "Float64",
    "mean_notes_per_s": "Float64",
    "headroom": "Float64",
    "headroom_bar": "Int64",
    "headroom_beat": "Float64",
    "headroom_s": "Float64",
    "slides": "Int64",
    "slides_per_100_transitions": "Float64",
    "slides_per_minute": "Float64",
    "articulations": "string",
    "evidence": "string",
    "left_out": "string",
}
"""Order and kind of the columns of tracks.csv."""

_FORMULA_STARTS = ("=", "+", "-", "@")


def findings_table(review: Review) -> pd.DataFrame:
    """One row for each finding, in the order of the review; columns as in FINDING_COLUMNS."""
    octave = review.played.session.middle_c_octave
    return _table([_finding_row(f, octave) for f in review.findings], FINDING_COLUMNS)


def tracks_table(review: Review) -> pd.DataFrame:
    """One row for each track, left-out ones included; columns as in TRACK_COLUMNS."""
    octave = review.played.session.middle_c_octave
    return _table([_track_row(track, octave) for track in review.tracks], TRACK_COLUMNS)


def write_tables(review: Review, folder: Path) -> list[Path]:
    """Write findings.csv and tracks.csv (UTF-8, one line feed a row) into an existing folder."""
    written = []
    for name, table in (("findings", findings_table(review)), ("tracks", tracks_table(review))):
        path = folder / f"{name}.csv"
        table.to_csv(path, index=False, encoding="utf-8", lineterminator="\n")
        written.append(path)
    return written


def _table(rows: list[dict[str, Any]], columns: Mapping[str, Any]) -> pd.DataFrame:
    import pandas as pd

    # Declared kinds keep an empty table, and a bar that is missing, from changing a column.
    return pd.DataFrame(
        {name: pd.Series([row[name] for row in rows], dtype=kind) for name, kind in columns.items()}
    )


def _finding_row(finding: Finding, middle_c_octave: int) -> dict[str, Any]:
    return {
        "severity": finding.severity.label,
        "family": finding.family,
        "check": finding.check,
        "part": cell(finding.part),
        "track": finding.track,
        "start_bar": finding.start.bar,
        "start_beat": finding.start.beat,
        "start_s": round(finding.start.time_s, 3),
        "end_bar": finding.end.bar,
        "end_beat": finding.end.beat,
        "end_s": round(finding.end.time_s, 3),
        "pitches": cell(" ".join(pitch_name(p, middle_c_octave) for p in finding.pitches)),
        "message": cell(finding.message),
        "suggestion": cell(finding.suggestion),
        "evidence": cell("; ".join(evidence_words(item) for item in finding.evidence)),
        "confidence": round(finding.confidence, 3),
        "id": cell(finding.id),
        "accepted": None if finding.accepted is None else cell(finding.accepted),
    }


def _track_row(track: TrackSummary, middle_c_octave: int) -> dict[str, Any]:
    place = track.headroom_at
    lowest, highest = (
        None if pitch is None else pitch_name(pitch, middle_c_octave)
        for pitch in (track.lowest, track.highest)
    )
    seconds = "; ".join(f"{name} {time_s:.1f} s" for name, time_s in track.articulations)
    return {
        "index": track.index,
        "name": cell(track.name),
        "part": cell(track.part),
        "instrument": track.instrument,
        "players": track.players,
        "confidence": round(track.confidence, 3),
        "notes": track.notes,
        "lowest": lowest,
        "highest": highest,
        "peak_notes_per_s": _rounded(track.peak_notes_per_s),
        "mean_notes_per_s": _rounded(track.mean_notes_per_s),
        "headroom": _rounded(track.headroom),
        "headroom_bar": place and place.bar,
        "headroom_beat": place and place.beat,
        "headroom_s": _rounded(None if place is None else place.time_s),
        "slides": track.slides,
        "slides_per_100_transitions": _rounded(track.slides_per_100_transitions),
        "slides_per_minute": _rounded(track.slides_per_minute),
        "articulations": cell(seconds),
        "evidence": cell(track.evidence),
        "left_out": None if track.left_out is None else cell(track.left_out),
    }


def evidence_words(item: Evidence) -> str:
    """'measured 11.2 notes/s, limit 10.1', after the name of what was measured."""
    return f"{item.quantity}: measured {item.measured:.4g} {item.unit}, limit {item.limit:.4g}"


def cell(text: str) -> str:
    """One line that a spreadsheet takes for text, even where a track name starts like a formula.

    Source: common practice, a leading apostrophe marks text in spreadsheets.
    """
    line = printable(text)
    # Full-width signs start a formula too where such keyboards are usual.
    return f"'{line}" if unicodedata.normalize("NFKC", line[:1]) in _FORMULA_STARTS else line


def _rounded(number: float | None) -> float | None:
    return None if number is None or not math.isfinite(number) else round(number, 3)
