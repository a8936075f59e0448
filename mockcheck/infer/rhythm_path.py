"""The most likely row of rhythms, beat by beat, for the onsets of one line.

Each beat takes some of the onsets, in order, and gives each a place. Its cost is how far they were
played from there, in standard deviations, and how unusual its rhythm is after the one before. The
cheapest path is exact over what is kept of each beat. Cost grows linearly with beats.

Source: rhythm as a hidden path behind performed times, A. Cemgil, P. Desain and B. Kappen (2000).
Not modelled: tempo; the beats are known.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.rhythm_patterns import MOST_SLOTS, PatternTable
from mockcheck.model.written import BeatGrid

_REACH_DEVIATIONS = 4.0
_LEAST_REACH_S = 0.03
_MOST_REACH_BEATS = 0.45
_MOST_EITHER_WAY = 2
"""Onsets on either side of a beat's start that may belong to the other beat."""
_KEPT = 8
"""Rhythms kept for each choice of onsets in a beat."""


@dataclass(frozen=True)
class Choices:
    """What each beat may hold, one row a choice; rows of a beat lie together.

    `first` and `after` bound its onsets, `pattern` its rhythm, `cost` is of the playing alone.
    """

    beat: NDArray[np.int64]
    first: NDArray[np.int64]
    after: NDArray[np.int64]
    pattern: NDArray[np.int64]
    cost: NDArray[np.float64]


def best_patterns(
    ticks: NDArray[np.float64],
    grid: BeatGrid,
    jitter_s: float,
    table: PatternTable,
    bias: NDArray[np.float64] | None = None,
) -> tuple[NDArray[np.int64], NDArray[np.int64], float]:
    """The rhythm of each beat, and the first onset that it takes.

    Parameters
    ----------
    ticks
        Onsets of a line, rising, shape (m,); all before the end of the grid.
    grid
        Beats.
    jitter_s
        Standard deviation of the playing, s.
    table
        Rhythms and their costs.
    bias
        More cost for each family of rhythms in each beat, shape (beats, families).

    Returns
    -------
    Row in the table, shape (beats,); first onset, shape (beats + 1,); and the cost of it all.
    """
    choices = _choices(ticks, grid, jitter_s, table, bias)
    edges = np.searchsorted(choices.beat, np.arange(len(grid) + 1))
    follow = table.follow_cost
    pattern, first, after, cost = choices.pattern, choices.first, choices.after, choices.cost
    came_from = np.arange(-1, len(pattern) - 1)
    lo, hi, beat = 0, int(edges[1]), 1
    total = cost[lo:hi].copy()
    rest_ends = _rest_ends(np.diff(edges))
    while beat < len(grid):
        until = int(rest_ends[beat])
        if until > beat:
            rows = np.arange(hi, edges[until])
            steps = np.stack([follow[pattern[rows - 1], pattern[rows]], cost[rows]], axis=1)
            total = np.cumsum(np.append(total, steps))[-1:]
            lo, hi, beat = int(edges[until - 1]), int(edges[until]), until
            continue
        low, high = hi, int(edges[beat + 1])
        step = total[:, None] + follow[pattern[lo:hi, None], pattern[None, low:high]]
        step[after[lo:hi, None] != first[None, low:high]] = np.inf
        best = step.argmin(axis=0)
        came_from[low:high] = lo + best
        total = step[best, np.arange(high - low)] + cost[low:high]
        lo, hi, beat = low, high, beat + 1
    row = lo + int(total.argmin())
    rows = np.empty(len(grid), np.int64)
    for beat in range(len(grid) - 1, -1, -1):
        rows[beat] = row
        row = came_from[row]
    return pattern[rows], np.append(first[rows], after[rows[-1]]), float(total.min())


def _rest_ends(choices: NDArray[np.int64]) -> NDArray[np.int64]:
    """For each beat the next one at which there is something to choose, or itself.

    In a long rest neither a beat nor the one before leaves a choice, so it is passed in one step.
    """
    is_open = np.append(True, (choices[1:] > 1) | (choices[:-1] > 1))
    place = np.where(is_open, np.arange(len(choices)), len(choices))
    return np.minimum.accumulate(place[::-1])[::-1]


def _choices(
    ticks: NDArray[np.float64],
    grid: BeatGrid,
    jitter_s: float,
    table: PatternTable,
    bias: NDArray[np.float64] | None,
) -> Choices:
    beat, first, after = _splits(ticks, grid, jitter_s)
    size = np.minimum(after - first, MOST_SLOTS)
    kind = grid.is_compound[beat]
    found: list[tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.float64]]] = []
    for is_compound in (False, True):
        for count in np.unique(size[kind == is_compound]).tolist():
            splits = np.flatnonzero((size == count) & (kind == is_compound))
            rows, places = table.of_size[is_compound, count]
            within = _within_beats(ticks, grid, beat[splits], first[splits], after[splits], count)
            off = (within[:, None, :] - places[None]) * grid.seconds[beat[splits], None, None]
            cost = (off**2).sum(axis=2) / (2 * jitter_s**2)
            cost += np.log(jitter_s / 0.02) * count
            if count:
                cost[places[None, :, -1] >= grid.cut[beat[splits], None] - 0.01] += 1e3
            if bias is not None:
                cost += bias[beat[splits][:, None], table.family[rows][None]]
            kept = min(_KEPT, len(rows))
            # The usual ones first: of two rhythms that fit alike the more usual is kept.
            rank = cost + table.follow_cost[:, rows].min(axis=0) * 0.5
            best = np.argpartition(rank, kept - 1, axis=1)[:, :kept]
            found.append(
                (
                    np.repeat(splits, kept),
                    rows[best].ravel(),
                    np.take_along_axis(cost, best, axis=1).ravel(),
                )
            )
    split, pattern, cost = (np.concatenate(column) for column in zip(*found, strict=True))
    order = np.argsort(split, kind="stable")
    split = split[order]
    return Choices(beat[split], first[split], after[split], pattern[order], cost[order])


def _splits(
    ticks: NDArray[np.float64], grid: BeatGrid, jitter_s: float
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]:
    """Every way to take the onsets of a beat: those near its edges may be the neighbour's."""
    seconds_per_tick = grid.seconds / grid.unit_ticks
    reach_s = np.minimum(
        max(_REACH_DEVIATIONS * jitter_s, _LEAST_REACH_S), _MOST_REACH_BEATS * grid.seconds
    )
    reach = reach_s / seconds_per_tick
    middle = np.searchsorted(ticks, grid.ticks)
    low = np.maximum(np.searchsorted(ticks, grid.ticks - reach), middle - _MOST_EITHER_WAY)
    high = np.minimum(np.searchsorted(ticks, grid.ticks + reach), middle + _MOST_EITHER_WAY)
    # All onsets belong to the music: nothing comes before the first beat or after the last.
    low[0] = high[0] = 0
    low, high = np.append(low, len(ticks)), np.append(high, len(ticks))
    width = high - low + 1
    pairs = width[:-1] * width[1:]
    beat = np.repeat(np.arange(len(grid)), pairs)
    place = np.arange(len(beat)) - np.repeat(np.cumsum(pairs) - pairs, pairs)
    first = low[beat] + place // width[beat + 1]
    after = low[beat + 1] + place % width[beat + 1]
    fits = first <= after
    return beat[fits], first[fits], after[fits]


def _within_beats(
    ticks: NDArray[np.float64],
    grid: BeatGrid,
    beat: NDArray[np.int64],
    first: NDArray[np.int64],
    after: NDArray[np.int64],
    count: int,
) -> NDArray[np.float64]:
    """Places of the onsets in their beats, shape (splits, count)."""
    # Of more onsets than any rhythm has, evenly chosen ones stand for all.
    spread = np.linspace(0, 1, count, endpoint=False) if count else np.empty(0)
    rows = first[:, None] + np.floor(spread * (after - first)[:, None] + 1e-9).astype(np.int64)
    if not count:
        return np.empty((len(beat), 0))
    within: NDArray[np.float64] = (ticks[rows] - grid.ticks[beat, None]) / grid.unit_ticks[
        beat, None
    ]
    return within
