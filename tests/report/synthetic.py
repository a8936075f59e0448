"""Reviews built straight from records, without reading, listening or checking anything.

Instrument numbers: open strings are the standard tunings; string lengths and tops stand for a
full-size instrument and need not be exact here, since reports only show them.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from mockcheck.model.curves import Curve
from mockcheck.model.finding import CheckOutcome, Evidence, Finding, Outcome, Severity
from mockcheck.model.instrument import Instrument
from mockcheck.model.notes import Notes
from mockcheck.model.played import (
    ArticulationColumns,
    ArticulationZone,
    FoundSwitch,
    PlayedPart,
    PlayedScore,
    Role,
    Slide,
    Sonorities,
)
from mockcheck.model.reading import LOAD_COMPONENTS, ReadingLoad
from mockcheck.model.review import Review, TrackSummary
from mockcheck.model.score import ChannelCurves, ReadWarning, Score, Text, Track
from mockcheck.model.session import Session
from mockcheck.model.time import MeterMap, TempoMap, Timeline

TPQ = 480
BAR = 4 * TPQ
Row = tuple[int, int, int]
"""Pitch, onset tick, release tick."""

VIOLIN = Instrument("violin", (76, 69, 62, 55), 328.0, 93, 100, 105, {})
VIOLA = Instrument("viola", (69, 62, 55, 48), 375.0, 84, 91, 96, {})
CELLO = Instrument("cello", (57, 50, 43, 36), 690.0, 76, 84, 91, {})
ENSEMBLE = Instrument("string ensemble", (), 0.0, 100, 100, 100, {}, is_ensemble=True)

HOSTILE_NAME = '=HYPERLINK("x")\x1b[31mred\x07 <b>bold</b>\u202e $x_1$ ヴァイオリン Скрипка'


def timeline_of(
    tempos: Sequence[tuple[int, float]] = ((0, 120.0),),
    metres: Sequence[tuple[int, int, int]] = ((0, 4, 4),),
    *,
    assumed: bool = False,
) -> Timeline:
    ticks = np.array([tick for tick, _ in tempos], np.int64)
    bpm = tuple(float(value) for _, value in tempos)
    per_tick = 60.0 / np.array(bpm) / TPQ
    lengths = np.diff(ticks) * per_tick[:-1]
    time_s = np.concatenate([[0.0], np.cumsum(lengths)])
    meter = MeterMap(
        np.array([row[0] for row in metres], np.int64),
        np.array([row[1] for row in metres], np.int64),
        np.array([row[2] for row in metres], np.int64),
        TPQ,
    )
    return Timeline(TempoMap(ticks, time_s, per_tick, bpm, assumed), meter)


def frames_timeline(ticks_per_second: float = 1000.0) -> Timeline:
    per_tick = np.array([1 / ticks_per_second])
    return Timeline(TempoMap(np.zeros(1, np.int64), np.zeros(1), per_tick, ()), None)


def notes_of(rows: Sequence[Row], timeline: Timeline) -> Notes:
    table = np.array(sorted(rows, key=lambda row: (row[1], row[0])), np.int64).reshape(-1, 3)
    size = len(table)
    onset_s = timeline.tempo.seconds_at(table[:, 1])
    release_s = timeline.tempo.seconds_at(table[:, 2])
    return Notes(
        pitch=table[:, 0].astype(np.int16),
        velocity=np.full(size, 80, np.uint8),
        channel=np.ones(size, np.uint8),
        onset_ticks=table[:, 1].copy(),
        release_ticks=table[:, 2].copy(),
        onset_s=onset_s,
        release_s=release_s,
        sound_end_s=release_s.copy(),
        program=np.full(size, -1, np.int16),
        hanging=np.zeros(size, np.bool_),
        event_index=np.arange(size, dtype=np.int64),
    )


def sonorities_of(notes: Notes) -> Sonorities:
    """Notes with the same onset sound together; none is held over."""
    _, first = np.unique(notes.onset_ticks, return_index=True)
    ends = np.append(first, len(notes)).astype(np.int64)
    return Sonorities(ends, np.arange(len(notes), dtype=np.int64), np.diff(ends))


def role_of(index: int, name: str, part: str, instrument: str | None, **changes: Any) -> Role:
    role = Role(index, index, (1,), name, instrument, part, False, None, 0.95, "from its name")
    return replace(role, **changes)


def part_of(
    name: str,
    instrument: Instrument,
    rows: Sequence[Row],
    *,
    index: int = 0,
    track_name: str | None = None,
    timeline: Timeline | None = None,
    session: Session | None = None,
    players: int = 12,
    slides: Sequence[tuple[int, int]] = (),
    stroke_confidence: float = 0.9,
    **changes: Any,
) -> PlayedPart:
    """One part on one track row; `slides` gives onset and release ticks."""
    timeline = timeline or timeline_of()
    notes = notes_of(rows, timeline)
    end = int(notes.release_ticks.max()) if len(notes) else 0
    part = PlayedPart(
        name=name,
        instrument=instrument,
        players=players,
        roles=(role_of(index, track_name or name, name, instrument.id),),
        session=session or Session(),
        timeline=timeline,
        notes=notes,
        track=np.full(len(notes), index, np.int64),
        bend_at_onset_cents=np.zeros(len(notes)),
        bend_travel_cents=np.zeros(len(notes)),
        articulation=ArticulationColumns(
            np.ones(len(notes), np.int8), np.full(len(notes), stroke_confidence)
        ),
        zones=(ArticulationZone(index, 0, end, "detache", 0.9, "short gaps"),),
        slides=tuple(
            Slide(index, 0, 1, on, off, 60.0, 64.0, 120.04, "portamento", "bend", 0.8)
            for on, off in slides
        ),
        sonorities=sonorities_of(notes),
        switches=(),
    )
    return replace(part, **changes)


def finding_of(
    part: PlayedPart, severity: Severity, first_tick: int, last_tick: int, **changes: Any
) -> Finding:
    finding = Finding(
        id=f"double-stop-on-one-string-{first_tick:010x}",
        check="double-stop-on-one-string",
        family="chords",
        severity=severity,
        track=part.roles[0].index,
        part=part.name,
        start=part.locate(first_tick),
        end=part.locate(last_tick),
        pitches=(55, 57),
        message="G3 and A3 need the same string.",
        evidence=(Evidence("strings needed", 2.0, 1.0, "strings"),),
        suggestion="Split the two notes between desks, or raise the upper one to the open D.",
        confidence=0.95,
        source="standard tuning",
    )
    return replace(finding, **changes)


def summary_of(part: PlayedPart, **changes: Any) -> TrackSummary:
    role, pitch = part.roles[0], part.notes.pitch
    summary = TrackSummary(
        index=role.index,
        name=role.name,
        instrument=part.instrument.id,
        part=part.name,
        players=part.players,
        confidence=role.confidence,
        evidence=role.evidence,
        notes=len(part.notes),
        left_out=None,
        lowest=int(pitch.min()) if len(pitch) else None,
        highest=int(pitch.max()) if len(pitch) else None,
        peak_notes_per_s=8.0,
        mean_notes_per_s=2.125,
        slides=len(part.slides),
        slides_per_100_transitions=1.5,
        slides_per_minute=0.75,
        articulations=(("detache", 40.5),),
    )
    return replace(summary, **changes)


def left_out_of(index: int, name: str, reason: str) -> TrackSummary:
    return TrackSummary(index, name, None, "", 0, 0.9, "from its name", 31, reason)


def track_of(index: int, name: str | None, notes: Notes, timeline: Timeline) -> Track:
    return Track(index, name, None, None, None, notes, {}, timeline, 0)


def review_of(
    parts: Sequence[PlayedPart],
    findings: Sequence[Finding] = (),
    *,
    summaries: Sequence[TrackSummary] | None = None,
    outcomes: Sequence[CheckOutcome] = (),
    session: Session | None = None,
    score_changes: Mapping[str, Any] | None = None,
) -> Review:
    """A review of parts that sit on track rows 0, 1, 2 ... in order; other rows come after."""
    timeline = parts[0].timeline
    session = session or Session()
    rows = list(summaries) if summaries is not None else [summary_of(part) for part in parts]
    empty = notes_of((), timeline)
    tables = [part.notes for part in parts] + [empty] * (len(rows) - len(parts))
    score = Score(
        file="mockup.mid",
        sha256="0" * 64,
        smf_format=1,
        ticks_per_quarter=None if timeline.meter is None else TPQ,
        ticks_per_second=1000.0 if timeline.meter is None else None,
        tracks=tuple(
            track_of(row.index, row.name, table, timeline)
            for row, table in zip(rows, tables, strict=True)
        ),
        timeline=timeline,
        markers=(),
        texts=(),
        key_signatures=(),
        warnings=(),
        event_count=4 * sum(len(part.notes) for part in parts),
    )
    score = replace(score, **(score_changes or {}))
    roles = [role for part in parts for role in part.roles]
    roles += [
        role_of(row.index, row.name, "", None, left_out=row.left_out) for row in rows[len(parts) :]
    ]
    played = PlayedScore(score, session, tuple(parts), tuple(roles))
    brief: dict[str, Any] = {
        "level": str(session.level),
        "style": str(session.style),
        "middle_c": f"C{session.middle_c_octave}",
        "tempo_bpm": session.tempo_bpm,
        "frame_rate": session.frame_rate,
        "start_timecode": session.start_timecode,
        "players": {part.name: part.players for part in parts},
        "tracks": [],
        "checks": {},
    }
    return Review(played, tuple(rows), tuple(findings), tuple(outcomes), brief)


def scale_rows(bars: int, lowest: int, highest: int, *, seed: int = 1) -> list[Row]:
    """Music-like notes: busy and calm stretches, rests, long notes, wandering over the range."""
    random = np.random.default_rng(seed)
    rows: list[Row] = []
    centre = (lowest + highest) / 2
    for bar in range(bars):
        busy = 0.5 + 0.5 * np.sin(2 * np.pi * (bar / 24 + seed / 7))
        if random.random() < 0.12:
            continue
        count = int(random.choice([1, 2, 4, 8, 16], p=_weights(busy)))
        centre += random.normal(0, 2.5)
        centre = float(np.clip(centre, lowest + 6, highest - 6))
        for step in range(count):
            pitch = int(np.clip(round(centre + random.normal(0, 4)), lowest, highest))
            onset = bar * BAR + step * BAR // count
            rows.append((pitch, onset, onset + int(0.9 * BAR / count)))
    return rows


def _weights(busy: float) -> list[float]:
    weights = np.array([1.2 - busy, 1.0, 1.0, 0.2 + busy, max(busy - 0.4, 0.01)])
    return list(weights / weights.sum())


def loads_of(bars: Sequence[Mapping[str, float]]) -> ReadingLoad:
    """How bars read, from what each part of the load adds in each of them."""
    added = {
        name: np.array([bar.get(name, 0.0) for bar in bars], np.float64) for name in LOAD_COMPONENTS
    }
    load = 1 - np.prod([1 - column for column in added.values()], axis=0)
    return ReadingLoad(np.arange(len(bars)), load, **added)


def studio_review() -> Review:
    """A mock-up with something of everything, and names that try to do harm."""
    timeline = timeline_of(((0, 96.0), (20 * BAR, 144.0)), assumed=False)
    first = part_of(
        "Violin 1",
        VIOLIN,
        scale_rows(48, 55, 96, seed=1),
        timeline=timeline,
        slides=((6 * BAR, 6 * BAR + 200), (30 * BAR, 30 * BAR + 200)),
        players=16,
        reading=loads_of([{"notes": 0.2}, {}, {"accidentals": 0.4, "rhythm": 0.3}]),
    )
    second = part_of("Violin 2", VIOLIN, scale_rows(48, 55, 88, seed=2), index=1, timeline=timeline)
    viola = part_of(
        "Viola",
        VIOLA,
        scale_rows(48, 48, 84, seed=3),
        index=2,
        timeline=timeline,
        track_name=HOSTILE_NAME,
        stroke_confidence=0.5,
        switches=(FoundSwitch(2, 12, 31, None, "far below the range", 0.9),),
    )
    cello = part_of("Cello", CELLO, scale_rows(48, 36, 76, seed=4), index=3, timeline=timeline)
    cello = replace(cello, reading=loads_of([{"ledger_lines": 0.4, "leaps": 0.2}, {"notes": 0.1}]))
    findings = _studio_findings(first, second, viola)
    rows = [
        summary_of(first, headroom=0.82, headroom_at=first.locate(24 * BAR + TPQ)),
        summary_of(second, headroom=1.4, headroom_at=second.locate(3 * BAR)),
        summary_of(viola, confidence=0.45, evidence="from its range alone, notes C3 to C6"),
        summary_of(cello),
        left_out_of(4, "Piano", "not a string instrument"),
        left_out_of(5, "Harp \x1b]0;title\x07", "not a string instrument"),
        left_out_of(6, "Click", "percussion"),
    ]
    outcomes = (
        CheckOutcome("run-too-fast", 0, Outcome.RAN),
        CheckOutcome("bow-runs-out", 3, Outcome.SKIPPED, "no dynamics are sent"),
        CheckOutcome(
            "slides-overused",
            1,
            Outcome.CRASHED,
            'Traceback:\n  File "/home/someone/mockcheck/checks/slides_overused.py", line 3\nOops',
        ),
    )
    review = review_of(
        [first, second, viola, cello],
        findings,
        summaries=rows,
        outcomes=outcomes,
        session=Session(players={"Violin 1": 16}),
        score_changes={
            "markers": tuple(
                Text("marker", bar * BAR, timeline.tempo.second_at(bar * BAR), text, 0)
                for bar, text in ((0, "A"), (12, "B"), (20, "Chase"), (40, "C <i>slow</i>"))
            ),
            "warnings": (
                ReadWarning("hanging-note", "2 notes are never released", 3, 1204),
                ReadWarning("unknown-chunk", "a chunk of another maker was passed over", None, 14),
            ),
        },
    )
    return _with_bend(review, 0)


def _studio_findings(first: PlayedPart, second: PlayedPart, viola: PlayedPart) -> list[Finding]:
    double_stops = [
        finding_of(first, Severity.IMPOSSIBLE, bar * BAR + 2 * TPQ, bar * BAR + 3 * TPQ)
        for bar in (11, 19, 23, 30, 31, 32)
    ]
    tremolo = finding_of(
        first,
        Severity.RISKY,
        24 * BAR,
        28 * BAR,
        check="repeated-notes-too-fast",
        family="speed",
        id="repeated-notes-too-fast-0123456789",
        pitches=(76,),
        message="64 repeated notes at 13.2 a second; 12.0 is the fastest still counted together.",
        evidence=(Evidence("repeated notes per second", 13.2, 12.0, "notes/s"),),
        suggestion="Write an unmeasured tremolo, or halve the notes.",
    )
    guess = finding_of(
        viola,
        Severity.IMPOSSIBLE,
        4 * BAR,
        4 * BAR + TPQ,
        check="note-below-open-string",
        family="range",
        id="note-below-open-string-0123456789",
        pitches=(47,),
        message="B2 is below the open C string.",
        evidence=(Evidence("pitch", 47, 48, "MIDI pitch"),),
        suggestion="Give it to the cellos, or raise it an octave.",
        confidence=0.45,
    )
    remarks = [
        finding_of(
            second,
            severity,
            bar * BAR,
            bar * BAR + TPQ,
            check=check,
            family="reading",
            id=f"{check}-{bar:010x}",
            message=message,
            suggestion="Rewrite it, or leave it as it is.",
            accepted=accepted,
        )
        for severity, bar, check, message, accepted in (
            (Severity.AWKWARD, 2, "many-accidentals", "Seven accidentals in one bar.", None),
            (Severity.AWKWARD, 3, "many-accidentals", "Nine accidentals in one bar.", None),
            (Severity.REMARK, 5, "no-dynamics", "No dynamics for 20 bars.", None),
            (Severity.REMARK, 7, "long-rest", "A rest of 30 bars without a cue.", None),
            (Severity.REMARK, 9, "odd-tuplet", "A group of eleven.", "=the leader has seen it"),
        )
    ]
    return sorted([*double_stops, tremolo, guess, *remarks], key=lambda f: f.start.tick)


def _with_bend(review: Review, row: int) -> Review:
    """One row bends without having set a bend range."""
    curve = Curve(np.array([0], np.int64), np.zeros(1), np.array([50.0]))
    score = review.played.score
    bending = replace(score.tracks[row], channels={1: ChannelCurves(bend_cents=curve)})
    tracks = (*score.tracks[:row], bending, *score.tracks[row + 1 :])
    return replace(review, played=replace(review.played, score=replace(score, tracks=tracks)))
