"""Tables of movement: least time and discomfort from every placement of one event to the next.

An event is known by its pitches; a pair of events by both and by the bow between them. Music
repeats itself, so a score of many thousand notes needs only a few thousand tables.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby

import numpy as np
from numpy.typing import NDArray

from mockcheck.playing.fingerboard import Fingerboard
from mockcheck.playing.hand import Hand
from mockcheck.playing.motion import bow_seconds, crossing_strings, left_hand_seconds
from mockcheck.playing.placements import MOST_PLACEMENTS, Placements, placements
from mockcheck.playing.times import MotionTimes, effort_for

NEVER_S = np.inf
"""Stands for a movement that does not exist: no rest is long enough for it."""

# Comfort of moving, in units of one string crossing; see playing/placements.py for its role.
SHIFT_UNEASE = 1.2
SHIFT_UNEASE_PER_MM = 0.012
CROSSING_UNEASE = 0.35

Pitches = tuple[int, ...]


@dataclass(frozen=True)
class Pair:
    """Two events that follow each other: their pitches and the stroke of the second."""

    before: Pitches
    after: Pitches
    stroke: str


@dataclass(frozen=True)
class TransitionTables:
    """One table for each pair, padded to MOST_PLACEMENTS squared.

    Parameters
    ----------
    seconds
        Least time by placement before and after, s, NEVER_S where there is none, shape
        (pairs, MOST_PLACEMENTS, MOST_PLACEMENTS).
    unease
        Discomfort of the movement and of arriving there, same shape.
    """

    seconds: NDArray[np.float32]
    unease: NDArray[np.float32]


def transition_tables(
    board: Fingerboard, hand: Hand, pairs: list[Pair], times: MotionTimes
) -> TransitionTables:
    """Tables for all pairs; events without a placement give tables of NEVER_S."""
    size = MOST_PLACEMENTS
    seconds = np.full((len(pairs), size, size), NEVER_S, np.float32)
    unease = np.zeros((len(pairs), size, size), np.float32)
    effort = effort_for(board.string_length_mm)
    order = sorted(range(len(pairs)), key=lambda row: pairs[row].before)
    for pitches, rows_of in groupby(order, key=lambda row: pairs[row].before):
        rows = list(rows_of)
        before = placements(board, hand, pitches)
        sides = [placements(board, hand, pairs[row].after) for row in rows]
        after = join_placements(sides)
        if not len(before) or not len(after):
            continue
        left = left_hand_seconds(before, after, times, effort)
        bow = {
            stroke: bow_seconds(before, after, times, effort, stroke)
            for stroke in {pairs[row].stroke for row in rows}
        }
        moving = _moving_unease(before, after) + after.unease
        first = 0
        for row, side in zip(rows, sides, strict=True):
            block = slice(first, first + len(side))
            least = np.maximum(left[:, block], bow[pairs[row].stroke][:, block])
            seconds[row, : len(before), : len(side)] = least
            unease[row, : len(before), : len(side)] = moving[:, block]
            first += len(side)
    return TransitionTables(seconds, unease)


def join_placements(sides: list[Placements]) -> Placements:
    """Placements of several events one after the other in one table."""
    return Placements(
        np.concatenate([side.stop for side in sides]),
        np.concatenate([side.finger for side in sides]),
        np.concatenate([side.hand_mm for side in sides]),
        np.concatenate([side.is_thumb for side in sides]),
        np.concatenate([side.is_stretched for side in sides]),
        np.concatenate([side.unease for side in sides]),
    )


def _moving_unease(before: Placements, after: Placements) -> NDArray[np.float64]:
    distance_mm = np.abs(before.hand_mm[:, None] - after.hand_mm)
    shifts = (distance_mm > 0.5) | (before.is_thumb[:, None] != after.is_thumb)
    unease: NDArray[np.float64] = (
        SHIFT_UNEASE * shifts
        + SHIFT_UNEASE_PER_MM * distance_mm
        + CROSSING_UNEASE * crossing_strings(before, after)
    )
    return unease
