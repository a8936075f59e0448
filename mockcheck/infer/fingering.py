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

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.bottleneck import best_worst_ratio, ratios_along
from mockcheck.infer.search import Search
from mockcheck.playing.placements import MOST_PLACEMENTS

BURST_EVENTS, SUSTAINED_EVENTS = 8, 32
"""Windows that are solved by themselves: a burst, and a stretch that has to be sustained."""

CLOSE_RATIO = 0.8
"""Windows whose printed path stays under this share of the limit need no exact solution: the
best path is never worse than the printed one."""

_BLOCK = 2048
_WINDOW_BLOCK = 256
_STRAIN = 4.0
_TOO_FAST = 1e3


@dataclass(frozen=True)
class Solution:
    """The printed path and the windows.

    Parameters
    ----------
    placement
        Row into `placements` of each event, shape (n,).
    ratio
        Time needed over time available of each movement on the path, alone or together with the
        one before, shape (n - 1,).
    burst, sustained
        Best possible worst ratio of each window, by its first event; exact where the printed path
        comes close to the limit, its own worst ratio elsewhere. Shape (windows,), at least one.
    """

    placement: NDArray[np.int64]
    ratio: NDArray[np.float64]
    burst: NDArray[np.float64]
    sustained: NDArray[np.float64]


def solve(search: Search, level_factor: float) -> Solution:
    """Print a path and solve the windows; times of the tables are multiplied by `level_factor`."""
    gap_s = search.line.gap_s / level_factor
    placement = _printed_path(search, gap_s)
    ratio = ratios_along(search, placement, gap_s)
    close = min(CLOSE_RATIO, float(ratio.max(initial=0.0)) * 0.999)
    while True:
        burst = _path_windows(ratio, BURST_EVENTS)
        todo = np.flatnonzero(burst > close)
        _solve_windows(search, gap_s, burst, BURST_EVENTS, close, todo)
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
    _solve_windows(search, gap_s, sustained, SUSTAINED_EVENTS, close, open_windows)
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
    events: int,
    close: float,
    todo: NDArray[np.int64],
) -> None:
    """Replace the path's ratio by the best possible one, in place, in windows to do."""
    moves = min(events - 1, len(gap_s))
    for start in range(0, len(todo), _WINDOW_BLOCK):
        first = todo[start : start + _WINDOW_BLOCK]
        best = best_worst_ratio(search, gap_s, first, moves, close)
        known[first] = np.minimum(known[first], best)
