"""What to rehearse before the takes, in which order, and who waits meanwhile."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from mockcheck.infer.headroom import level_factor
from mockcheck.model.finding import Finding
from mockcheck.model.review import Review
from mockcheck.model.session import Level
from mockcheck.plan.ladders import COMFORTABLE_HEADROOM, Ladder, ladder_of
from mockcheck.plan.spots import Spot, changes_first, choose_spots
from mockcheck.plan.to_read import PartToRead, parts_to_read


@dataclass(frozen=True)
class Exercise:
    """One spot with its passes.

    Parameters
    ----------
    number
        Place in the order, from 1.
    spot, ladder
        What, and at which clicks.
    waiting
        Sections that have nothing to do meanwhile.
    """

    number: int
    spot: Spot
    ladder: Ladder
    waiting: tuple[str, ...]


@dataclass(frozen=True)
class Rehearsal:
    """Everything a sheet for the stand needs.

    Parameters
    ----------
    review
        What it rests on.
    exercises
        In the order of work.
    to_change
        What no slower tempo cures, in order of time.
    to_read
        What is not too fast but much to read, beside the spots.
    """

    review: Review
    exercises: tuple[Exercise, ...]
    to_change: tuple[Finding, ...]
    to_read: tuple[PartToRead, ...] = ()

    @property
    def seconds(self) -> float:
        """All passes of all spots, count-ins included, talk not."""
        return sum(exercise.ladder.seconds for exercise in self.exercises)


def plan_rehearsal(review: Review) -> Rehearsal:
    """What to isolate, hardest first while everybody is fresh, and what cannot be practised.

    Returns
    -------
    Spots that do not go at sight come first, then tight ones, then the rest, heaviest to read
    first; of equals those in which most players have something to do, since nobody waits longer
    than needed, then the tighter and the heavier ones, then in order of time.

    Raises
    ------
    UnreadableInput
        The file has no bars that all parts share.
    """
    parts = [part.name for part in review.played.parts]
    timeline = review.played.score.timeline
    share = level_factor(Level.SIGHT) / level_factor(review.played.session.level)
    spots = _in_order(choose_spots(review), share)
    exercises = []
    for number, spot in enumerate(spots, start=1):
        busy = {part.part for part in spot.parts}
        waiting = tuple(name for name in parts if name not in busy)
        exercises.append(Exercise(number, spot, ladder_of(spot, timeline), waiting))
    to_read = parts_to_read(review.played.parts, spots)
    return Rehearsal(review, tuple(exercises), changes_first(review), to_read)


def _in_order(spots: Sequence[Spot], share: float) -> list[Spot]:
    """`share` turns headroom at sight into headroom at the session's level."""

    def hardness(spot: Spot) -> tuple[float, ...]:
        headroom = spot.headroom * share
        goes = math.inf if headroom == math.inf else headroom
        rank = 0 if goes < 1 else 1 if goes < COMFORTABLE_HEADROOM else 2
        return rank, -spot.players, goes if rank < 2 else -spot.load, spot.start_ticks

    return sorted(spots, key=hardness)
