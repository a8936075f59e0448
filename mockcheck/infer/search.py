"""What one player reads, event by event, and the tables that a search over it needs."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from mockcheck.playing.fingerboard import Fingerboard
from mockcheck.playing.hand import Hand
from mockcheck.playing.placements import MOST_PLACEMENTS, UNUSED, Placements, placements
from mockcheck.playing.returns import Held
from mockcheck.playing.times import Effort, MotionTimes, effort_for
from mockcheck.playing.transitions import Pair, Pitches, TransitionTables, transition_tables

BORROWED_SHARE = 0.12
"""Share of what a neighbouring gap is longer that a movement may borrow: players begin an ornament
early or end it late, up to the 50 ms by which bow and finger differ unnoticed (Cognitive Brain
Research 23, 2005, pp. 436-443) between crotchets at a walking pace; the share is from memory."""

_SHORTEST_GAP_S = 1e-4


@dataclass(frozen=True)
class Line:
    """What one player has to play, event by event.

    Parameters
    ----------
    events
        Pitches of each event, low to high, length n.
    onset_s
        Seconds, rising, shape (n,).
    strokes
        Bow from the event before to each event, as `bow_seconds` names it, length n.
    """

    events: list[Pitches]
    onset_s: NDArray[np.float64]
    strokes: list[str]

    @cached_property
    def gap_s(self) -> NDArray[np.float64]:
        """Time for each movement, s, shape (n - 1,): the gap, and a share of a longer neighbour.

        Proportional, so that the tempo scales every time alike; longer gaps never shorten one.
        """
        gap_s = np.maximum(np.diff(self.onset_s), _SHORTEST_GAP_S)
        before = np.concatenate([gap_s[:1], gap_s[:-1]])
        after = np.concatenate([gap_s[1:], gap_s[-1:]])
        longer: NDArray[np.float64] = np.maximum(np.maximum(before, after) - gap_s, 0.0)
        return gap_s + BORROWED_SHARE * longer


@dataclass(frozen=True)
class Search:
    """A line with its tables, ready to be solved at any level (a factor on all times).

    Parameters
    ----------
    pair
        Row into `tables` of each movement, shape (n - 1,).
    kind
        Row into `kinds` of each event, shape (n,): events with the same pitches are of one kind.
    kinds
        Stops and fingers of every placement of each kind, padded with unused strings, shape
        (kinds, MOST_PLACEMENTS, strings).
    """

    board: Fingerboard
    hand: Hand
    line: Line
    times: MotionTimes
    tables: TransitionTables
    pair: NDArray[np.int64]
    kind: NDArray[np.int64]
    kinds: Held

    @cached_property
    def is_bowed(self) -> NDArray[np.bool_]:
        """Whether the bow draws each event, shape (n,)."""
        return np.array([stroke != "free" for stroke in self.line.strokes])

    @property
    def effort(self) -> Effort:
        """What the size of the instrument adds to all times."""
        return effort_for(self.board.string_length_mm)

    def part_of(self, first: int, events: int) -> Search:
        """A few events as a search of their own."""
        rows, moves = slice(first, first + events), slice(first, first + events - 1)
        line = Line(self.line.events[rows], self.line.onset_s[rows], self.line.strokes[rows])
        return replace(self, line=line, pair=self.pair[moves], kind=self.kind[rows])

    def placements_of(self, event: int) -> Placements:
        """All placements of one event."""
        return placements(self.board, self.hand, self.line.events[event])


def prepare(board: Fingerboard, hand: Hand, line: Line, times: MotionTimes) -> Search:
    """Build the tables that a line needs; events must have placements.

    Raises ValueError for an event that one player cannot hold.
    """
    for pitches in set(line.events):
        if not len(placements(board, hand, pitches)):
            message = f"no hand holds {pitches}; divide the chord first"
            raise ValueError(message)
    keys = [
        Pair(before, after, stroke)
        for before, after, stroke in zip(
            line.events[:-1], line.events[1:], line.strokes[1:], strict=True
        )
    ]
    distinct = {key: row for row, key in enumerate(dict.fromkeys(keys))}
    tables = transition_tables(board, hand, list(distinct), times)
    pair = np.array([distinct[key] for key in keys], np.int64)
    return assemble(board, hand, line, times, tables, pair)


def assemble(
    board: Fingerboard,
    hand: Hand,
    line: Line,
    times: MotionTimes,
    tables: TransitionTables,
    pair: NDArray[np.int64],
) -> Search:
    """A search from tables that are there already; `pair` is the row of each movement in them."""
    kinds = {pitches: row for row, pitches in enumerate(dict.fromkeys(line.events))}
    kind = np.array([kinds[pitches] for pitches in line.events], np.int64)
    sides = [placements(board, hand, pitches) for pitches in kinds]
    return Search(
        board, hand, line, times, tables, pair, kind, _padded(sides, len(board.open_strings))
    )


def _padded(sides: list[Placements], strings: int) -> Held:
    shape = (len(sides), MOST_PLACEMENTS, strings)
    stop, finger = np.full(shape, UNUSED, np.int8), np.zeros(shape, np.int8)
    for row, side in enumerate(sides):
        stop[row, : len(side)], finger[row, : len(side)] = side.stop, side.finger
    return Held(stop, finger)
