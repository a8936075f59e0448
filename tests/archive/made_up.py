"""Outcomes with numbers that can be added up by hand."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from mockcheck.archive.files import FoundFile
from mockcheck.archive.one_review import Reviewed
from mockcheck.archive.pool import Done, Kind
from mockcheck.archive.reviewing import Outcome
from mockcheck.model.finding import Finding, Severity
from mockcheck.model.record import ReviewRecord
from mockcheck.model.review import TrackSummary
from mockcheck.model.time import Location

PLACE = Location(bar=1, beat=1.0, tick=0, time_s=0.0, timecode=None)


def track(index: int, part: str, instrument: str, notes: int) -> TrackSummary:
    return TrackSummary(index, part, instrument, part, 1, 1.0, "said so", notes, None)


def left_out(index: int, notes: int) -> TrackSummary:
    return replace(track(index, "", "", notes), left_out="a switch", instrument=None)


def finding(
    check: str, severity: Severity, track_index: int, part: str, accepted: str | None = None
) -> Finding:
    return Finding(
        f"{check}-0", check, "range", severity, track_index, part, PLACE, PLACE, (60,),
        "It is so.", (), "Do or do not.", 1.0, "test", accepted,
    )  # fmt: skip


def outcome(
    name: str, seconds: float, tracks: list[TrackSummary], findings: list[Finding]
) -> Outcome:
    record = ReviewRecord(
        name, "0" * 64, seconds, 10, "sight", (), tuple(tracks), tuple(findings), ()
    )
    path = Path(name)
    return Outcome(FoundFile(path, name), "0" * 64, Done(path, Kind.DONE, Reviewed(record, "So.")))


def failed(name: str, kind: Kind) -> Outcome:
    path = Path(name)
    return Outcome(FoundFile(path, name), None, Done(path, kind, fault="for a reason"))


def small_run() -> list[Outcome]:
    """Two folders; three files of 1, 2 and 3 minutes with 100, 300 and 600 notes."""
    low, fast = "note-below-open-string", "run-too-fast"
    return [
        outcome(
            "x/one.mid",
            60,
            [track(0, "Violin 1", "violin", 100), left_out(1, 999)],
            [
                finding(low, Severity.IMPOSSIBLE, 0, "Violin 1"),
                finding(fast, Severity.RISKY, 0, "Violin 1", accepted="meant"),
            ],
        ),
        outcome(
            "x/two.mid",
            120,
            [track(0, "Violin 1", "violin", 200), track(1, "Violin 1", "violin", 40),
             track(2, "Violin 2", "violin", 60)],
            [
                finding(fast, Severity.RISKY, 0, "Violin 1"),
                finding(fast, Severity.RISKY, 2, "Violin 2"),
                finding(low, Severity.IMPOSSIBLE, 1, "Violin 1"),
            ],
        ),
        outcome("y/three.mid", 180, [track(0, "Cello", "cello", 600)], []),
        failed("y/four.mid", Kind.REFUSED),
    ]  # fmt: skip
