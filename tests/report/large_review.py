"""A mock-up as large as they come: forty tracks, twenty minutes, five thousand findings."""

from __future__ import annotations

import numpy as np

from mockcheck.checks._registry import all_checks
from mockcheck.model.finding import Evidence, Finding
from mockcheck.model.played import ArticulationZone, PlayedPart
from mockcheck.model.review import Review
from tests.report.synthetic import (
    BAR,
    CELLO,
    TPQ,
    VIOLA,
    VIOLIN,
    finding_of,
    part_of,
    review_of,
    scale_rows,
)

PARTS, BARS, FINDINGS = 40, 600, 5000
_STROKES = ("legato", "detache", "spiccato", "tremolo", "pizzicato", "con sordino")
_MESSAGE = (
    "{} notes at {:.1f} a second, too fast for a section that reads at sight: the fingers from A5"
    " to B5 would take 81 ms, and there are 28."
)
_SUGGESTION = (
    "Play it at quarter = 40-47; written 125; or keep 6 of the 17 notes before G6, evenly spaced:"
    " D4, A4, D5, G5, C6 and F#6."
)


def large_review() -> Review:
    """At quarter = 120 in four, 600 bars are twenty minutes."""
    parts = [_part(index) for index in range(PARTS)]
    random = np.random.default_rng(7)
    findings = [
        _finding(parts[number % PARTS], number, int(random.integers(0, BARS - 2)))
        for number in range(FINDINGS)
    ]
    return review_of(parts, sorted(findings, key=lambda finding: finding.start.tick))


def _part(index: int) -> PlayedPart:
    instrument = (VIOLIN, VIOLIN, VIOLA, CELLO)[index % 4]
    lowest = instrument.lowest
    starts = range(0, BARS, 2)
    slides = [(bar * BAR, bar * BAR + TPQ // 2) for bar in range(index, BARS, 9)]
    return part_of(
        f"{instrument.id.title()} {index + 1}",
        instrument,
        scale_rows(BARS, lowest, lowest + 36, seed=index),
        index=index,
        slides=slides,
        zones=tuple(
            ArticulationZone(
                index, bar * BAR, (bar + 2) * BAR, _STROKES[(bar // 2 + index) % 6], 0.8, "heard"
            )
            for bar in starts
        ),
    )


def _finding(part: PlayedPart, number: int, bar: int) -> Finding:
    checks = list(all_checks().values())
    check = checks[number % len(checks)]
    first = bar * BAR + (number % 4) * TPQ
    return finding_of(
        part,
        check.severity,
        first,
        first + TPQ * (1 + number % 5),
        id=f"{check.id}-{number:010x}",
        check=check.id,
        family=check.family,
        message=_MESSAGE.format(number % 30 + 2, number % 17 + 9.5),
        suggestion=_SUGGESTION,
        evidence=(
            Evidence("headroom", 0.347, 1, "of the written tempo"),
            Evidence("time of the deciding movement", 28.1, 81, "ms"),
        ),
        source=check.explanation()["Source"],
        accepted="agreed with the leader" if number % 50 == 0 else None,
    )
