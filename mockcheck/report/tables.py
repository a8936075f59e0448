"""The tables people take away: findings, tracks, strokes, slides and how bars read."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from mockcheck.model.finding import Evidence, Finding
from mockcheck.model.played import ArticulationZone, PlayedPart, Slide
from mockcheck.model.reading import LOAD_COMPONENTS, ReadingLoad
from mockcheck.model.review import Review, TrackSummary
from mockcheck.model.time import Location
from mockcheck.model.words import cell
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

STROKE_COLUMNS = {
    "track": "Int64",
    "part": "string",
    "start_bar": "Int64",
    "start_beat": "Float64",
    "start_s": "Float64",
    "end_bar": "Int64",
    "end_beat": "Float64",
    "end_s": "Float64",
    "articulation": "string",
    "confidence": "Float64",
    "evidence": "string",
}
"""Order and kind of the columns of strokes.csv: how each stretch of a track is played."""

SLIDE_COLUMNS = {
    "track": "Int64",
    "part": "string",
    "start_bar": "Int64",
    "start_beat": "Float64",
    "start_s": "Float64",
    "from": "string",
    "to": "string",
    "semitones": "Float64",
    "duration_ms": "Float64",
    "kind": "string",
    "source": "string",
    "confidence": "Float64",
}
"""Order and kind of the columns of slides.csv; a slide may begin or end between two notes."""

READING_COLUMNS = {
    "track": "Int64",
    "part": "string",
    "bar": "Int64",
    "load": "Float64",
    **dict.fromkeys(LOAD_COMPONENTS, "Float64"),
    "mostly": "string",
}
"""Order and kind of the columns of reading.csv: each bar in which something begins, with an index
from 0 to 1, what each part of it adds, and the largest of these in words."""


def findings_table(review: Review) -> pd.DataFrame:
    """One row for each finding, in the order of the review; columns as in FINDING_COLUMNS."""
    octave = review.played.session.middle_c_octave
    return table_of([finding_row(f, octave) for f in review.findings], FINDING_COLUMNS)


def tracks_table(review: Review) -> pd.DataFrame:
    """One row for each track, left-out ones included; columns as in TRACK_COLUMNS."""
    octave = review.played.session.middle_c_octave
    return table_of([track_row(track, octave) for track in review.tracks], TRACK_COLUMNS)


def strokes_table(review: Review) -> pd.DataFrame:
    """One row for each stretch played in one way; columns as in STROKE_COLUMNS."""
    rows = [_stroke_row(part, zone) for part in review.played.parts for zone in part.zones]
    return table_of(rows, STROKE_COLUMNS)


def slides_table(review: Review) -> pd.DataFrame:
    """One row for each slide heard; columns as in SLIDE_COLUMNS."""
    rows = [_slide_row(part, slide) for part in review.played.parts for slide in part.slides]
    return table_of(rows, SLIDE_COLUMNS)


def reading_table(review: Review) -> pd.DataFrame:
    """One row for each bar of a part in which something begins; columns as in READING_COLUMNS."""
    rows = [
        row
        for part in review.played.parts
        if part.reading is not None
        for row in _reading_rows(part, part.reading)
    ]
    return table_of(rows, READING_COLUMNS)


def write_tables(review: Review, folder: Path) -> list[Path]:
    """Write the five tables (UTF-8, one line feed a row) into an existing folder."""
    written = []
    for name, table in (
        ("findings", findings_table(review)),
        ("tracks", tracks_table(review)),
        ("strokes", strokes_table(review)),
        ("slides", slides_table(review)),
        ("reading", reading_table(review)),
    ):
        path = folder / f"{name}.csv"
        table.to_csv(path, index=False, encoding="utf-8", lineterminator="\n")
        written.append(path)
    return written


def table_of(rows: Sequence[Mapping[str, Any]], columns: Mapping[str, Any]) -> pd.DataFrame:
    """Rows as a table with these columns, in this order and of these kinds."""
    import pandas as pd

    # Declared kinds keep an empty table, and a bar that is missing, from changing a column.
    return pd.DataFrame(
        {name: pd.Series([row[name] for row in rows], dtype=kind) for name, kind in columns.items()}
    )


def finding_row(finding: Finding, middle_c_octave: int) -> dict[str, Any]:
    """One row of findings.csv."""
    return {
        "severity": finding.severity.label,
        "family": finding.family,
        "check": finding.check,
        "part": cell(finding.part),
        "track": finding.track,
        **_span(finding.start, finding.end),
        "pitches": cell(" ".join(pitch_name(p, middle_c_octave) for p in finding.pitches)),
        "message": cell(finding.message),
        "suggestion": cell(finding.suggestion),
        "evidence": cell("; ".join(evidence_words(item) for item in finding.evidence)),
        "confidence": round(finding.confidence, 3),
        "id": cell(finding.id),
        "accepted": None if finding.accepted is None else cell(finding.accepted),
    }


def track_row(track: TrackSummary, middle_c_octave: int) -> dict[str, Any]:
    """One row of tracks.csv."""
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


def _stroke_row(part: PlayedPart, zone: ArticulationZone) -> dict[str, Any]:
    return {
        "track": zone.track,
        "part": cell(part.name),
        **_span(part.locate_onset(zone.onset_ticks), part.locate(zone.release_ticks)),
        "articulation": zone.articulation,
        "confidence": round(zone.confidence, 3),
        "evidence": cell(zone.evidence),
    }


def _slide_row(part: PlayedPart, slide: Slide) -> dict[str, Any]:
    place = part.locate_onset(slide.onset_ticks)
    return {
        "track": slide.track,
        "part": cell(part.name),
        "start_bar": place.bar,
        "start_beat": place.beat,
        "start_s": round(place.time_s, 3),
        "from": cell(part.pitch_name(slide.from_pitch)),
        "to": cell(part.pitch_name(slide.to_pitch)),
        "semitones": round(slide.to_pitch - slide.from_pitch, 2),
        "duration_ms": round(slide.duration_ms, 1),
        "kind": slide.kind,
        "source": slide.source,
        "confidence": round(slide.confidence, 3),
    }


def _reading_rows(part: PlayedPart, reading: ReadingLoad) -> Iterator[dict[str, Any]]:
    for row in (reading.load > 0).nonzero()[0].tolist():
        yield {
            "track": part.roles[0].index if part.roles else None,
            "part": cell(part.name),
            "bar": int(reading.bar_index[row]) + 1,
            **{
                name: round(float(reading.component(name)[row]), 3)
                for name in ("load", *LOAD_COMPONENTS)
            },
            "mostly": ", ".join(reading.reasons(row)),
        }


def _span(start: Location, end: Location) -> dict[str, Any]:
    return {
        "start_bar": start.bar,
        "start_beat": start.beat,
        "start_s": round(start.time_s, 3),
        "end_bar": end.bar,
        "end_beat": end.beat,
        "end_s": round(end.time_s, 3),
    }


def evidence_words(item: Evidence) -> str:
    """'measured 11.2 notes/s, limit 10.1', after the name of what was measured."""
    return f"{item.quantity}: measured {item.measured:.4g} {item.unit}, limit {item.limit:.4g}"


def _rounded(number: float | None) -> float | None:
    return None if number is None or not math.isfinite(number) else round(number, 3)
