"""One workable fingering of a line, and how close each place comes to what a hand can do.

Speed is a bottleneck question: a line can be played k times faster if and only if there is a
path of placements whose every movement fits the k times shorter time. So the fastest tempo is
the path whose worst ratio of time needed to time available is least, and that path's worst
movement explains it. A sum of costs would hide one impossible movement among many easy ones.

Source: layered graph of fingerings, S. Sayegh (1989); minimax Viterbi, G. Hori and S. Sagayama
(2016); the semiring argument makes the dynamic programme exact.
Not modelled: fingers left down under others, fatigue, and one player's habits.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from mockcheck.playing.fingerboard import Fingerboard
from mockcheck.playing.hand import Hand
from mockcheck.playing.motion import MotionTimes
from mockcheck.playing.placements import MOST_PLACEMENTS, Placements, placements
from mockcheck.playing.transitions import (
    Pair,
    Pitches,
    TransitionTables,
    transition_tables,
)

BURST_EVENTS, SUSTAINED_EVENTS = 8, 32
"""Windows that are solved by themselves: a burst, and a stretch that has to be sustained."""

CLOSE_RATIO = 0.8
"""Windows whose printed path stays under this share of the limit need no exact solution: the
best path is never worse than the printed one."""

BORROWED_SHARE = 0.12
"""Share of what a neighbouring gap is longer that a movement may borrow: players begin an ornament
early or end it late, up to the 50 ms by which bow and finger differ unnoticed (Cognitive Brain
Research 23, 2005, pp. 436-443) between crotchets at a walking pace; the share is from memory."""

_BLOCK = 2048
_WINDOW_BLOCK = 256
_STRAIN = 4.0
_TOO_FAST = 1e3
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
class Solution:
    """The printed path and the windows.

    Parameters
    ----------
    placement
        Row into `placements` of each event, shape (n,).
    ratio
        Time needed over time available of each movement on the path, shape (n - 1,).
    burst, sustained
        Best possible worst ratio of each window, by its first event; exact where the printed path
        comes close to the limit, its own worst ratio elsewhere. Shape (windows,), at least one.
    """

    placement: NDArray[np.int64]
    ratio: NDArray[np.float64]
    burst: NDArray[np.float64]
    sustained: NDArray[np.float64]


@dataclass(frozen=True)
class Search:
    """A line with its tables, ready to be solved at any level (a factor on all times)."""

    board: Fingerboard
    hand: Hand
    line: Line
    tables: TransitionTables
    pair: NDArray[np.int64]

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
    return Search(board, hand, line, tables, np.array([distinct[key] for key in keys], np.int64))


def solve(search: Search, level_factor: float) -> Solution:
    """Print a path and solve the windows; times of the tables are multiplied by `level_factor`."""
    gap_s = search.line.gap_s / level_factor
    placement = _printed_path(search, gap_s)
    ratio = _path_ratios(search, placement, gap_s)
    close = min(CLOSE_RATIO, float(ratio.max(initial=0.0)) * 0.999)
    while True:
        burst = _path_windows(ratio, BURST_EVENTS)
        _solve_windows(search, gap_s, burst, np.flatnonzero(burst > close), BURST_EVENTS)
        worst = float(burst.max(initial=0.0))
        # A window left unsolved is no better known than its path: look closer until the worst
        # window of all is exact.
        if worst >= close or close <= 0.0:
            break
        close = worst * 0.999
    sustained = _path_windows(ratio, SUSTAINED_EVENTS)
    # A long window is at least as hard as any burst in it and no harder than its path; only where
    # the two differ is there something to find out.
    wide = len(burst) - len(sustained) + 1
    least = np.lib.stride_tricks.sliding_window_view(burst, wide).max(axis=1)
    open_windows = np.flatnonzero((sustained > close) & (sustained > least * (1 + 1e-6)))
    _solve_windows(search, gap_s, sustained, open_windows, SUSTAINED_EVENTS)
    return Solution(placement, ratio, burst, sustained)


def _printed_path(search: Search, gap_s: NDArray[np.float64]) -> NDArray[np.int64]:
    """Feasible first, then pleasant: any movement that does not fit outweighs all comfort."""
    count = len(search.line.events)
    first = search.placements_of(0)
    cost = np.full(MOST_PLACEMENTS, np.inf, np.float32)
    cost[: len(first)] = first.unease
    came_from = np.zeros((max(count - 1, 0), MOST_PLACEMENTS), np.int8)
    columns = np.arange(MOST_PLACEMENTS)
    total = np.empty((MOST_PLACEMENTS, MOST_PLACEMENTS), np.float32)
    for start in range(0, count - 1, _BLOCK):
        block = slice(start, min(start + _BLOCK, count - 1))
        price = _price(search, block, gap_s)
        for row in range(block.stop - block.start):
            np.add(cost[:, None], price[row], out=total)
            best = total.argmin(axis=0)
            came_from[start + row] = best
            cost = total[best, columns]
    path = np.empty(count, np.int64)
    path[-1] = int(cost.argmin()) if count else 0
    for event in range(count - 2, -1, -1):
        path[event] = came_from[event, path[event + 1]]
    return path


def _price(search: Search, block: slice, gap_s: NDArray[np.float64]) -> NDArray[np.float32]:
    rows = search.pair[block]
    ratio = search.tables.seconds[rows] / gap_s[block, None, None].astype(np.float32)
    square = ratio * ratio
    price = search.tables.unease[rows] + _STRAIN * square * square
    price += _TOO_FAST * np.maximum(ratio - 1, 0)
    capped: NDArray[np.float32] = np.minimum(price, np.float32(1e12))
    return capped


def _path_ratios(
    search: Search, placement: NDArray[np.int64], gap_s: NDArray[np.float64]
) -> NDArray[np.float64]:
    seconds = search.tables.seconds[search.pair, placement[:-1], placement[1:]]
    ratio: NDArray[np.float64] = seconds.astype(np.float64) / gap_s
    return ratio


def _path_windows(ratio: NDArray[np.float64], events: int) -> NDArray[np.float64]:
    """Worst ratio of the printed path in every window (one window if the line is shorter)."""
    moves = min(events - 1, len(ratio))
    if moves == 0:
        return np.zeros(1)
    worst: NDArray[np.float64] = np.lib.stride_tricks.sliding_window_view(ratio, moves).max(axis=1)
    return worst


def _solve_windows(
    search: Search,
    gap_s: NDArray[np.float64],
    known: NDArray[np.float64],
    todo: NDArray[np.int64],
    events: int,
) -> None:
    """Replace the path's ratio by the best possible one, in place, in windows to do."""
    moves = min(events - 1, len(gap_s))
    for start in range(0, len(todo), _WINDOW_BLOCK):
        first = todo[start : start + _WINDOW_BLOCK]
        best = best_worst_ratio(search, gap_s, first, moves)
        known[first] = np.minimum(known[first], best)


def best_worst_ratio(
    search: Search, gap_s: NDArray[np.float64], first: NDArray[np.int64], moves: int
) -> NDArray[np.float64]:
    """Least worst ratio over all paths through windows of `moves` movements, shape of `first`."""
    size = MOST_PLACEMENTS
    pace = (1 / gap_s).astype(np.float32)
    worst = np.zeros((len(first), size, 1), np.float32)
    needed = np.empty((len(first), size, size), np.float32)
    for step in range(moves):
        rows = first + step
        np.take(search.tables.seconds, search.pair[rows], axis=0, out=needed)
        needed *= pace[rows, None, None]
        np.maximum(needed, worst, out=needed)
        worst[:, :, 0] = needed.min(axis=1)
    best: NDArray[np.float64] = worst.min(axis=(1, 2)).astype(np.float64)
    return best


def best_path(
    search: Search, gap_s: NDArray[np.float64]
) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """The whole line as one window: a path whose worst movement is the least possible.

    Returns
    -------
    Placement of each event, shape (n,), and the ratio of each movement on that path, shape
    (n - 1,), in 64-bit: scaling all times scales it exactly.
    """
    count = len(search.line.events)
    needed = search.tables.seconds[search.pair].astype(np.float64) / gap_s[:, None, None]
    worst = np.zeros(MOST_PLACEMENTS)
    came_from = np.zeros((max(count - 1, 0), MOST_PLACEMENTS), np.int64)
    columns = np.arange(MOST_PLACEMENTS)
    for step in range(count - 1):
        through = np.maximum(needed[step], worst[:, None])
        came_from[step] = through.argmin(axis=0)
        worst = through[came_from[step], columns]
    path = np.zeros(count, np.int64)
    path[-1] = int(worst.argmin())
    for step in range(count - 2, -1, -1):
        path[step] = came_from[step, path[step + 1]]
    return path, needed[np.arange(count - 1), path[:-1], path[1:]]
