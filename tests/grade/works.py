"""Submissions for tests: reviewed phrases, and records made by hand where a review is too much."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from mockcheck.checks._registry import all_checks
from mockcheck.grade.music import PartMusic, PieceMusic, music_of
from mockcheck.grade.submission import Piece, Submission
from mockcheck.model.finding import CheckOutcome, Finding, Outcome, Severity
from mockcheck.model.record import ReviewRecord
from mockcheck.model.review import TrackSummary
from mockcheck.model.time import Location
from tests.accuracy.midi_music import Music
from tests.phrases import played

QUARTER_S = 0.5
BARS = 25
"""Four parts of so many bars make 100 bars of playing: what the rubric's points are for."""
PARTS = {"Violin 1": "violin", "Violin 2": "violin", "Viola": "viola", "Cello": "cello"}


def location(bar: int, beat: float = 1.0) -> Location:
    """A place in 4/4 at 120."""
    quarters = 4 * (bar - 1) + beat - 1
    return Location(bar, beat, round(480 * quarters), QUARTER_S * quarters)


def finding(
    check: str = "run-too-fast",
    severity: Severity = Severity.RISKY,
    bar: int = 1,
    part: str = "Violin 1",
    **changes: object,
) -> Finding:
    """A finding of one bar."""
    plain = Finding(
        id=f"{check}-{part}-{bar}",
        check=check,
        family=all_checks()[check].family,
        severity=severity,
        track=0,
        part=part,
        start=location(bar),
        end=location(bar + 1),
        pitches=(60,),
        message="It is so.",
        evidence=(),
        suggestion="Do this, or that.",
        confidence=0.9,
        source="a book",
    )
    return replace(plain, **changes)  # type: ignore[arg-type]  # tests name fields


def even_music(bars: int = BARS, parts: dict[str, str] | None = None) -> PieceMusic:
    """Every part plays quarter notes throughout."""
    onset = np.arange(4.0 * bars)
    rows = tuple(
        PartMusic(
            part=name,
            instrument=instrument,
            pitch=np.full(len(onset), 60, np.int64),
            onset_quarters=onset.copy(),
            release_quarters=onset + 0.9,
            onset_s=onset * QUARTER_S,
            bar=(onset // 4).astype(np.int64) + 1,
        )
        for name, instrument in (PARTS if parts is None else parts).items()
    )
    return PieceMusic(rows, bars, 4.0 * bars * QUARTER_S)


def record(
    *findings: Finding,
    strokes: tuple[tuple[str, float], ...] = (("legato", 20.0), ("staccato", 9.0)),
    headroom: float | None = 1.0,
    crashed: tuple[str, ...] = (),
) -> ReviewRecord:
    """A review in which every check but some could look."""
    track = TrackSummary(
        index=0,
        name="Violin 1",
        instrument="violin",
        part="Violin 1",
        players=8,
        confidence=0.9,
        evidence="the name",
        notes=100,
        left_out=None,
        headroom=headroom,
        articulations=strokes,
    )
    outcomes = tuple(
        CheckOutcome(check, 0, Outcome.CRASHED if check in crashed else Outcome.RAN)
        for check in all_checks()
    )
    return ReviewRecord("piece.mid", "0", 50.0, BARS, "sight", (), (track,), findings, outcomes)


def piece(*findings: Finding, name: str = "piece.mid", bars: int = BARS) -> Piece:
    """One file of even music with these findings."""
    return Piece(name, record(*findings), even_music(bars))


def work(*findings: Finding, bars: int = BARS, student: str = "Ada") -> Submission:
    """A submission of one such file."""
    return Submission(student, (piece(*findings, bars=bars),))


def phrase_music(*phrases: str) -> PieceMusic:
    """The music of phrases, through the real reading."""
    return music_of(played(*phrases))


def plain_music(music: Music) -> PieceMusic:
    """Music of the tests as grading reads it, without the listening that takes its time."""
    quarter, parts = music.ticks_per_quarter, []
    for part in music.parts:
        onset = np.array([note.onset for note in part.notes], np.int64)
        instrument = next(
            i for i in ("viola", "violoncello", "violin", "") if i in part.name.lower()
        )
        parts.append(
            PartMusic(
                part=part.name,
                instrument=instrument,
                pitch=np.array([note.pitch for note in part.notes], np.int64),
                onset_quarters=onset / quarter,
                release_quarters=np.array([note.release for note in part.notes]) / quarter,
                onset_s=np.array([music.second_at(int(tick)) for tick in onset]),
                bar=np.array([music.bar_at(int(tick)) for tick in onset], np.int64),
            )
        )
    return PieceMusic(tuple(parts), music.bar_at(music.end - 1), music.second_at(music.end))
