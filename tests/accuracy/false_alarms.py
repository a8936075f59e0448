"""What the reviews say about published music that players do play.

One player a part, as in chamber music, at the levels solo and rehearsed. Every finding of
impossible in range and chords is listed, and a person's word about it read from words.csv: whether
the product is right about what the file says, and why the file says it.
"""

from __future__ import annotations

import csv
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from tests.accuracy.corpus import Work
from tests.accuracy.reviewing import Found, review_file
from tests.accuracy.two_processes import spread

LEVELS = ("solo", "rehearsed")
LISTED_FAMILIES = ("range", "chords")
WORDS = Path(__file__).parent / "words.csv"

WordKey = tuple[str, int, str, str]


@dataclass(frozen=True)
class Word:
    """A person's judgement of one finding: 'right', 'wrong' or '' (not judged), and why."""

    verdict: str = ""
    why: str = ""


@dataclass(frozen=True)
class Alarms:
    """The findings of one work at one level."""

    work: Work
    level: str
    found: tuple[Found, ...]


def _review(job: tuple[Work, str]) -> Alarms:
    work, level = job
    return Alarms(work, level, tuple(review_file(work.path, level, players=1)))


def measure_alarms(works: Sequence[Work], levels: Sequence[str] = LEVELS) -> list[Alarms]:
    """Review every work at every level."""
    jobs = [(work, level) for work in works for level in levels]
    return spread(_review, jobs, 2)


def count_notes(alarms: Sequence[Alarms]) -> int:
    """Notes of the works concerned, each work once."""
    return sum(work.notes for work in {row.work for row in alarms})


def count_by_check(alarms: Sequence[Alarms]) -> Counter[tuple[str, str]]:
    """Findings by (check, severity)."""
    return Counter((found.check, found.severity) for row in alarms for found in row.found)


def per_1000(count: int, notes: int) -> float:
    """Findings per 1,000 notes."""
    return 1000 * count / notes if notes else 0.0


def impossible(alarms: Sequence[Alarms], is_listed: bool = True) -> list[tuple[Work, Found]]:
    """Every impossible finding in range and chords (else: in all other families).

    Each is given once even when two levels have it.
    """
    seen = {
        (row.work.name, found.key): (row.work, found)
        for row in alarms
        for found in row.found
        if found.severity == "impossible" and (found.family in LISTED_FAMILIES) == is_listed
    }
    return list(seen.values())


def word_key(work: Work, found: Found) -> WordKey:
    """How words.csv names a finding."""
    return (work.name, found.first_bar, found.track, " ".join(map(str, found.pitches)))


def read_words() -> Mapping[WordKey, Word]:
    """What a person said after looking at each finding."""
    with WORDS.open(encoding="utf-8", newline="") as lines:
        return {
            (row["work"], int(row["bar"]), row["part"], row["pitches"]): Word(
                row["verdict"], row["word"]
            )
            for row in csv.DictReader(lines)
        }
