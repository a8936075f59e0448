"""How much faster each movement and each rate of a part could go when it is read at sight."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from mockcheck.model.played import PlayedPart
from mockcheck.model.session import Level
from mockcheck.plan._places import Place, rate_places
from mockcheck.plan._windows import windows_of

_ASKED = 1.25
"""Rates with more room than this never decide a practice tempo."""
_LEAST_RATIO = 1e-6


@dataclass(frozen=True)
class SightHeadroom:
    """One part read at sight.

    Parameters
    ----------
    onset_ticks
        Where each movement of the hand begins, rising, shape (movements,).
    headroom
        Fastest playable tempo over the written one of each movement, shape (movements,).
    places
        What a rate limits as well, as of plucking.
    """

    onset_ticks: NDArray[np.int64]
    headroom: NDArray[np.float64]
    places: tuple[Place, ...]

    def between(self, start_ticks: int, end_ticks: int) -> float:
        """The least headroom of what begins in a stretch; infinite where nothing limits it."""
        inside = (self.onset_ticks >= start_ticks) & (self.onset_ticks < end_ticks)
        limits: Iterable[float] = (
            place.headroom
            for place in self.places
            if place.start.tick < end_ticks and place.end.tick >= start_ticks
        )
        return min([float(self.headroom[inside].min(initial=np.inf)), *limits])


def sight_headroom(part: PlayedPart) -> SightHeadroom:
    """Judge a part at level sight, whatever level the session has."""
    at_sight = replace(part, session=replace(part.session, level=Level.SIGHT))
    places = tuple(rate_places(at_sight, _ASKED))
    windows = windows_of(at_sight, 1.0)
    if windows is None:
        return SightHeadroom(np.empty(0, np.int64), np.empty(0), places)
    leaving = [notes[-1] for notes in windows.player.notes[:-1]]
    return SightHeadroom(
        part.notes.onset_ticks[leaving],
        1 / np.maximum(windows.move_ratio(), _LEAST_RATIO),
        places,
    )
