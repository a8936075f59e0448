import csv
import io
from pathlib import Path
from typing import Any

import pytest

import mockcheck
from mockcheck.export.spotting import COLUMNS, spotting_csv, timecode_note
from mockcheck.model.finding import Severity
from mockcheck.model.review import Review
from mockcheck.model.session import Session
from tests.report.synthetic import BAR, TPQ, VIOLIN, finding_of, part_of, review_of, timeline_of

DEMO = Path(__file__).parent.parent.parent / "fixtures" / "demo"
MINUTE = 60 * TPQ
"""Ticks in a minute at 60 quarter notes a minute."""


def at_sixty(*ticks: int, score: dict[str, Any] | None = None, **brief: Any) -> Review:
    """Findings at ticks of music with one quarter note a second."""
    session = Session(**brief)
    part = part_of(
        "Violin 1",
        VIOLIN,
        [(60, 0, 70 * MINUTE)],
        timeline=timeline_of(((0, 60.0),)),
        session=session,
    )
    findings = [finding_of(part, Severity.RISKY, tick, tick + TPQ) for tick in ticks]
    return review_of([part], findings, session=session, score_changes=score)


def rows(review: Review) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(spotting_csv(review))))


# SMPTE ST 12-1: drop-frame counting keeps up with the clock within two frames, plain counting of
# 29.97 and 23.976 frames falls 3.6 s an hour behind it.
@pytest.mark.parametrize(
    ("rate", "minute", "hour"),
    [
        ("24", "00:01:00:00", "01:00:00:00"),
        ("25", "00:01:00:00", "01:00:00:00"),
        ("30", "00:01:00:00", "01:00:00:00"),
        ("29.97", "00:00:59:28", "00:59:56:12"),
        ("29.97 drop", "00:00:59;28", "01:00:00;00"),
        ("23.976", "00:00:59:22", "00:59:56:09"),
    ],
)
def test_timecode_at_every_rate(rate: str, minute: str, hour: str) -> None:
    table = rows(at_sixty(MINUTE, 60 * MINUTE, frame_rate=rate))
    assert [row["timecode"] for row in table] == [minute, hour]


def test_the_sheet_begins_where_the_brief_says() -> None:
    review = at_sixty(0, 90 * TPQ, frame_rate="25", start_timecode="10:00:00:00")
    assert [row["timecode"] for row in rows(review)] == ["10:00:00:00", "10:01:30:00"]
    assert timecode_note(review) == "Timecode at 25 frames a second, from 10:00:00:00."


def test_without_a_frame_rate_there_is_no_timecode_and_the_note_says_so() -> None:
    review = at_sixty(0)
    assert tuple(rows(review)[0]) == tuple(name for name in COLUMNS if name != "timecode")
    assert timecode_note(review).startswith("No timecode: the brief names no frame rate.")


def test_a_start_that_only_the_file_names_is_pointed_out() -> None:
    review = at_sixty(0, score={"start_timecode": "01:00:00:00"}, frame_rate="25")
    assert "01:00:00:00" in timecode_note(review)
    assert rows(review)[0]["timecode"] == "00:00:00:00"


def test_rows_are_in_order_of_time_and_leave_accepted_ones_out() -> None:
    part = part_of("Viola", VIOLIN, [(60, 0, 20 * BAR)])
    late, early = (finding_of(part, Severity.RISKY, bar * BAR, bar * BAR + TPQ) for bar in (9, 2))
    accepted = finding_of(part, Severity.RISKY, 0, TPQ, accepted="known")
    table = rows(review_of([part], [late, accepted, early]))
    assert [(row["bar"], row["beat"]) for row in table] == [("3", "1.0"), ("10", "1.0")]


def test_the_sheet_of_the_demo_says_what_its_review_says() -> None:
    brief = {"frame_rate": "24", "start_timecode": "01:00:00:00"}
    review = mockcheck.review(DEMO / "harbour_at_dawn.mid", brief)
    table = rows(review)
    assert len(table) == len(review.findings)
    assert tuple(table[0]) == COLUMNS
    for row, finding in zip(table, review.findings, strict=True):
        assert row["check"] == finding.check
        assert row["severity"] == finding.severity.label
        hours, minutes, seconds, frames = map(int, row["timecode"].split(":"))
        time_s = 3600 * (hours - 1) + 60 * minutes + seconds + frames / 24
        assert 0 <= finding.start.time_s - time_s + 1e-6 < 1 / 24 + 1e-6


def test_no_name_becomes_a_formula_or_a_command() -> None:
    part = part_of("=1+1\x1b[2J\nx", VIOLIN, [(60, 0, BAR)])
    finding = finding_of(part, Severity.RISKY, 0, TPQ, message="@cmd, \r\nline two")
    (row,) = rows(review_of([part], [finding]))
    assert row["part"] == "'=1+1[2J x"
    assert row["message"] == "'@cmd, line two"
