"""Whether the channels of one track are strokes of one part, or voices, or one note each.

Strokes follow each other by stretches of music in one register. Voices sound together or lie apart;
where every note is to bend alone, channels are dealt out note by note.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from mockcheck.model.notes import Notes
from mockcheck.params import Params, quantity


class TurnParams(Params):
    """What tells strokes from voices. Common practice, no source."""

    most_together: float = quantity(
        0.05,
        unit="share of the onsets",
        low=0,
        high=1,
        meaning="channels that begin together more often are voices, or one string each",
    )
    most_turns: float = quantity(
        0.6,
        unit="share of the turns that chance would make",
        low=0,
        high=1,
        meaning="channels that take turns more often deal out notes one by one",
    )
    most_register: float = quantity(
        0.6,
        unit="share of the variance of pitch",
        low=0,
        high=1,
        meaning="channels that explain more of it are high and low voices",
    )


TURNS = TurnParams()


def channels_take_turns(notes: Notes, first: NDArray[np.int64]) -> bool:
    """Whether channels follow each other by stretches of music in one register.

    Parameters
    ----------
    notes
        The music of one track, in time order, shape (n,).
    first
        First note of each onset, shape (onsets,).
    """
    channel = notes.channel.astype(np.int64)
    lowest = np.minimum.reduceat(channel, first)
    together = float(np.mean(np.maximum.reduceat(channel, first) != lowest))
    turns = int(np.sum(np.diff(lowest) != 0))
    share = np.bincount(lowest) / len(lowest)
    by_chance = (1 - float(np.sum(share**2))) * (len(lowest) - 1)
    return (
        turns > 0
        and together <= TURNS.most_together
        and turns <= TURNS.most_turns * by_chance
        and not _lie_apart(notes)
        and _register(notes, turns + 1) <= TURNS.most_register
    )


def _lie_apart(notes: Notes) -> bool:
    """Whether each channel has a range of pitches to itself, as voices and players have."""
    own = [notes.pitch[notes.channel == number] for number in np.unique(notes.channel)]
    ranges = sorted((int(pitch.min()), int(pitch.max())) for pitch in own)
    return all(below[1] < above[0] for below, above in pairwise(ranges))


def _register(notes: Notes, stretches: int) -> float:
    """Share of the variance of pitch that channels explain, beyond what chance would.

    Source: adjusted coefficient of determination, each stretch one observation.
    """
    pitch = notes.pitch.astype(np.float64)
    number, member, counts = np.unique(notes.channel, return_inverse=True, return_counts=True)
    middle = (np.bincount(member, pitch) / counts)[member]
    unexplained = 1 - float(np.var(middle)) / max(float(np.var(pitch)), 1e-9)
    return 1 - unexplained * (stretches - 1) / max(stretches - len(number), 1)
