"""The least possible worst ratio of time needed to time available, and the path that has it.

One movement at a time is a plain minimax over placements. What comes back within two movements
(`playing/returns.py`) needs pairs of placements as states; it is only looked into where the plain
answer does not satisfy it already, which is seldom, and gives the same result as doing so always.

Source: minimax Viterbi, G. Hori and S. Sagayama (2016); (min, max) is a semiring, so the dynamic
programme is exact for single placements and for pairs alike.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.search import Search
from mockcheck.playing.placements import MOST_PLACEMENTS
from mockcheck.playing.returns import (
    Held,
    bow_return_seconds,
    finger_return_seconds,
    return_seconds,
)

_PAIR_BLOCK = 64
_SAME = 1 + 1e-6
"""Ratios in 32-bit that differ by less are the same."""


def ratios_along(
    search: Search, placement: NDArray[np.int64], gap_s: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Ratio of each movement on a path, alone or together with the one before, shape (n - 1,)."""
    ratio = _alone(search, placement, gap_s)
    if len(ratio) > 1:
        back = _bound_returns(search, np.zeros(1, np.int64), placement[None])[0]
        ratio[1:] = np.maximum(ratio[1:], back / (gap_s[:-1] + gap_s[1:]))
    return ratio


def _alone(
    search: Search, placement: NDArray[np.int64], gap_s: NDArray[np.float64]
) -> NDArray[np.float64]:
    seconds = search.tables.seconds[search.pair, placement[:-1], placement[1:]]
    ratio: NDArray[np.float64] = seconds.astype(np.float64) / gap_s
    return ratio


def returns_along(search: Search, path: NDArray[np.int64], first: int) -> tuple[float, float]:
    """Seconds that the two movements of three events need together: fingers alone, bow and all."""
    finger_s, both_s = _returns(search, np.array([first]), path[None])
    is_bowed = bool(search.is_bowed[first + 2])
    return float(finger_s[0, 0]), float((both_s if is_bowed else finger_s)[0, 0])


def _bound_returns(
    search: Search, first: NDArray[np.int64], paths: NDArray[np.int64]
) -> NDArray[np.float64]:
    """Seconds that every two movements of some paths need together, shape (k, events - 2)."""
    finger_s, both_s = _returns(search, first, paths)
    third = first[:, None] + np.arange(2, paths.shape[1])
    seconds: NDArray[np.float64] = np.where(search.is_bowed[third], both_s, finger_s)
    return seconds


def _returns(
    search: Search, first: NDArray[np.int64], paths: NDArray[np.int64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """The same for a plucked and for a bowed string.

    `first` is the first event of each path, shape (k,); `paths` has shape (k, events).
    """
    kind = search.kind[first[:, None] + np.arange(paths.shape[1])]
    stop, finger = search.kinds.stop[kind, paths], search.kinds.finger[kind, paths]
    pairs = paths.shape[1] - 2
    before, between, after = (
        Held(stop[:, at : at + pairs], finger[:, at : at + pairs]) for at in range(3)
    )
    three = before, between, after
    finger_s = finger_return_seconds(three, search.times, search.effort)
    bow_s = bow_return_seconds(three, search.times, search.effort)
    return finger_s, np.maximum(finger_s, bow_s)


def best_worst_ratio(
    search: Search,
    gap_s: NDArray[np.float64],
    first: NDArray[np.int64],
    moves: int,
    close: float = 0.0,
) -> NDArray[np.float64]:
    """Least worst ratio over all paths through windows of `moves` movements, shape of `first`.

    Exact where it is above `close`; below, an upper bound that stays below.
    """
    alone = _without_returns(search, gap_s, first, moves)
    best: NDArray[np.float64] = alone[-1].min(axis=1).astype(np.float64)
    if moves < 2:
        return best
    paths = _paths_back(search, gap_s, first, alone)
    pace = 1 / (gap_s[:-1] + gap_s[1:])
    within = first[:, None] + np.arange(moves - 1)
    back = (_bound_returns(search, first, paths) * pace[within]).max(axis=1)
    known: NDArray[np.float64] = np.maximum(best, back)
    unclear = np.flatnonzero((known > close) & (back > best * _SAME))
    for start in range(0, len(unclear), _PAIR_BLOCK):
        rows = unclear[start : start + _PAIR_BLOCK]
        known[rows] = _with_returns(search, gap_s, first[rows], moves)
    return known


def _without_returns(
    search: Search, gap_s: NDArray[np.float64], first: NDArray[np.int64], moves: int
) -> NDArray[np.float32]:
    """Least worst ratio up to each event by placement there, shape (moves + 1, windows, S)."""
    size = MOST_PLACEMENTS
    pace = (1 / gap_s).astype(np.float32)
    worst = np.zeros((moves + 1, len(first), size), np.float32)
    needed = np.empty((len(first), size, size), np.float32)
    for step in range(moves):
        rows = first + step
        np.take(search.tables.seconds, search.pair[rows], axis=0, out=needed)
        needed *= pace[rows, None, None]
        np.maximum(needed, worst[step][:, :, None], out=needed)
        worst[step + 1] = needed.min(axis=1)
    return worst


def _paths_back(
    search: Search,
    gap_s: NDArray[np.float64],
    first: NDArray[np.int64],
    worst: NDArray[np.float32],
) -> NDArray[np.int64]:
    """One best path of each window, read from its end, shape (windows, moves + 1)."""
    moves = len(worst) - 1
    window = np.arange(len(first))
    pace = (1 / gap_s).astype(np.float32)
    paths = np.empty((len(first), moves + 1), np.int64)
    paths[:, -1] = worst[-1].argmin(axis=1)
    for step in range(moves - 1, -1, -1):
        rows = first + step
        needed = search.tables.seconds[search.pair[rows], :, paths[:, step + 1]]
        needed = np.maximum(needed * pace[rows, None], worst[step, window])
        paths[:, step] = needed.argmin(axis=1)
    return paths


def _with_returns(
    search: Search, gap_s: NDArray[np.float64], first: NDArray[np.int64], moves: int
) -> NDArray[np.float64]:
    """The same with pairs of placements as states, shape of `first`."""
    rows = first[:, None] + np.arange(moves)
    alone = search.tables.seconds[search.pair[rows]] / gap_s[rows][:, :, None, None]
    pace = (1 / (gap_s[:-1] + gap_s[1:])).astype(np.float32)
    tables, row_of = _return_tables(search, rows[:, :-1])
    # Placement before and now; least worst ratio of any way to get there.
    worst = alone[:, 0].astype(np.float32)
    for step in range(1, moves):
        both = tables[row_of[:, step - 1]] * pace[rows[:, step - 1], None, None, None]
        np.maximum(both, worst[:, :, :, None], out=both)
        worst = np.maximum(both.min(axis=1), alone[:, step].astype(np.float32))
    best: NDArray[np.float64] = worst.min(axis=(1, 2)).astype(np.float64)
    return best


def _return_tables(
    search: Search, first: NDArray[np.int64]
) -> tuple[NDArray[np.float32], NDArray[np.int64]]:
    """Seconds by placement of three events, once for each three that differ; and which is whose."""
    events = first[..., None] + np.arange(3)
    keys = np.concatenate([search.kind[events], search.is_bowed[events[..., 2:]]], axis=-1)
    distinct, row_of = np.unique(keys.reshape(-1, 4), axis=0, return_inverse=True)
    size = MOST_PLACEMENTS
    tables = np.empty((len(distinct), size, size, size), np.float32)
    for row, (*kinds, is_bowed) in enumerate(distinct):
        tables[row] = _return_table(search, kinds, is_bowed=bool(is_bowed))
    return tables, row_of.reshape(first.shape)


def _return_table(search: Search, kinds: list[int], *, is_bowed: bool) -> NDArray[np.float64]:
    """Padded with zeros: what does not exist is ruled out by its single movements."""
    table = np.zeros((MOST_PLACEMENTS,) * 3)
    before, between, after = (_along_axis(search, kind, axis) for axis, kind in enumerate(kinds))
    three = before, between, after
    seconds = return_seconds(three, search.times, search.effort, is_bowed=is_bowed)
    table[tuple(slice(size) for size in seconds.shape)] = seconds
    return table


def _along_axis(search: Search, kind: int, axis: int) -> Held:
    """The placements that a kind of event has, without padding, along one of three axes."""
    stop = search.kinds.stop[kind]
    size = int((stop >= 0).any(axis=1).sum())
    shape = [1, 1, 1, stop.shape[1]]
    shape[axis] = size
    return Held(stop[:size].reshape(shape), search.kinds.finger[kind, :size].reshape(shape))


def best_path(
    search: Search, gap_s: NDArray[np.float64]
) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """The whole line as one window: a path whose worst movement is the least possible.

    Returns
    -------
    Placement of each event, shape (n,), and the ratio of each movement on that path, alone or
    together with the one before, shape (n - 1,), in 64-bit: scaling all times scales it exactly.
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
    ratio = ratios_along(search, path, gap_s)
    if ratio.max(initial=0.0) > worst.min():
        path = _best_path_with_returns(search, gap_s, needed)
        ratio = ratios_along(search, path, gap_s)
    return path, ratio


def _best_path_with_returns(
    search: Search, gap_s: NDArray[np.float64], needed: NDArray[np.float64]
) -> NDArray[np.int64]:
    moves = len(gap_s)
    tables, row_of = _return_tables(search, np.arange(moves - 1))
    came_from = np.zeros((moves, MOST_PLACEMENTS, MOST_PLACEMENTS), np.int64)
    worst = needed[0]
    for step in range(1, moves):
        both = tables[row_of[step - 1]].astype(np.float64) / (gap_s[step - 1] + gap_s[step])
        both = np.maximum(both, worst[:, :, None])
        came_from[step] = both.argmin(axis=0)
        worst = np.maximum(both.min(axis=0), needed[step])
    path = np.zeros(moves + 1, np.int64)
    path[-2:] = np.unravel_index(int(worst.argmin()), worst.shape)
    for step in range(moves - 1, 0, -1):
        path[step - 1] = came_from[step, path[step], path[step + 1]]
    return path
