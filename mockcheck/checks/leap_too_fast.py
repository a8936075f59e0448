"""Single leaps that the hand cannot make in the time."""

from __future__ import annotations

from collections.abc import Iterator

from mockcheck.checks._registry import check
from mockcheck.checks._speed import observe_passage
from mockcheck.model.finding import Observation, Severity
from mockcheck.model.played import PlayedPart
from mockcheck.params import Params, quantity


class LeapTooFast(Params):
    """Limits of the check; the times of hand and bow are declared with the playing model."""

    least_headroom: float = quantity(
        1,
        unit="fastest playable tempo over the written one",
        low=0.2,
        high=1,
        meaning="below this a leap is reported",
        source="1 by definition; set it lower to hear only of the worst",
    )


@check(
    id="leap-too-fast",
    family="speed",
    severity=Severity.RISKY,
    title="A leap leaves the hand or the bow too little time.",
    params=LeapTooFast,
)
def find(part: PlayedPart, p: LeapTooFast) -> Iterator[Observation]:
    """Find single leaps of an octave or more that stand out of playable surroundings.

    Why a player minds: the hand has to travel, or the bow to jump strings, and land in tune; with
    too little time the first note is cut short or the second missed.
    Measured: as for run-too-fast, where one or two movements alone exceed the time and the worst
    is a leap of an octave or more. Risky where players at this level cannot; impossible where no
    soloist could with the least times known.
    Fine when: an open string or a rest gives the hand its time; the search knows both.
    Source: movement time grows with distance (P. Fitts, 1954); shifts of six professional
    violinists (PeerJ 3:e1299, 2015) for their spread.
    """
    for passage in part.passages:
        if passage.is_leap and passage.headroom < p.least_headroom:
            yield observe_passage(part, passage, "notes around a leap")
