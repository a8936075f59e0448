"""How exactly a part is timed: the onsets that lie on the grid, and how far parts are apart."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from mockcheck.model.played import PlayedPart
from mockcheck.model.time import MeterMap
from mockcheck.params import Params, quantity

DIVISIONS = (16, 12)
"""Parts of a quarter note on which music is written: semiquavers down to 64ths, and triplets."""


class GridParams(Params):
    """What counts as exact."""

    exact_s: float = quantity(
        0.002,
        unit="s",
        low=0,
        high=0.02,
        meaning="an onset this near the grid was put there by a machine: exports round by a tick",
    )
    most_by_chance: float = quantity(
        0.5,
        unit="share of the ticks",
        low=0.05,
        high=1,
        meaning="where more ticks than this are on the grid, the clock is too coarse to tell",
    )
    least_gap_s: float = quantity(
        0.12,
        unit="s",
        low=0,
        high=1,
        meaning="onsets closer to the one before are strokes of a tremolo, a trill or a run, whose"
        " place in the beat nobody writes",
    )
    together_s: float = quantity(
        0.06,
        unit="s",
        low=0.01,
        high=0.2,
        meaning="onsets of two parts that are nearer to each other are meant together; beyond the"
        " 50 ms of good ensembles, half of the least gap",
        source="spread of asynchrony in good ensembles 20 to 50 ms: Keller, 2014, from memory",
    )


PARAMS = GridParams()


@dataclass(frozen=True)
class GridTiming:
    """How many onsets of a part were looked at, and how many of them are on the grid."""

    onsets: int
    on_grid: int


def grid_timing(part: PlayedPart) -> GridTiming | None:
    """A grid holds what a machine put there; no player hits it to two milliseconds.

    Returns
    -------
    Onsets counted once a chord, and once a quick group. A track moved as a whole, or its legato
    notes drawn early by one amount, is on the grid too: the most frequent distance past a
    semiquaver counts beside none. None where the file has no beats, or ticks too coarse for a
    player's timing to show.

    Not modelled: groups of five, seven and more, which count as off the grid.
    """
    meter, tempo = part.timeline.meter, part.timeline.tempo
    if meter is None or _share_of_ticks(meter.ticks_per_quarter) > PARAMS.most_by_chance:
        return None
    ticks = part.notes.onset_ticks[_lone_onsets(part)]
    if not len(ticks):
        return GridTiming(0, 0)
    here = np.maximum(np.searchsorted(tempo.ticks, ticks, side="right") - 1, 0)
    # A grid that falls between two ticks is met by either.
    exact_ticks = np.maximum(PARAMS.exact_s / tempo.seconds_per_tick[here], 1 - 1e-6)
    is_exact = np.abs(_off_grid_ticks(ticks, meter)) <= exact_ticks
    if not is_exact.all():
        past_semiquaver = ticks[~is_exact] % (meter.ticks_per_quarter / 4)
        amounts, counts = np.unique(past_semiquaver, return_counts=True)
        moved = ticks - amounts[counts.argmax()]
        is_exact |= np.abs(_off_grid_ticks(moved, meter)) <= exact_ticks
    return GridTiming(len(ticks), int(is_exact.sum()))


def spread_between_parts_s(parts: Sequence[PlayedPart]) -> float | None:
    """Players who begin together are not quite together: the standard deviation over all pairs.

    Returns
    -------
    Seconds, over onsets of two parts that are meant together; None where there are too few.
    """
    apart: list[NDArray[np.float64]] = [np.empty(0)]
    onsets = [part.notes.onset_s[_lone_onsets(part)] for part in parts if len(part.notes)]
    for first, second in combinations(onsets, 2):
        edges = np.concatenate([[-np.inf], second, [np.inf]])
        after = np.searchsorted(second, first)
        around = np.stack([edges[after], edges[after + 1]]) - first
        nearest = around[np.abs(around).argmin(axis=0), np.arange(len(first))]
        apart.append(nearest[np.abs(nearest) <= PARAMS.together_s])
    all_apart = np.concatenate(apart)
    return float(all_apart.std()) if len(all_apart) > 2 else None


def _lone_onsets(part: PlayedPart) -> NDArray[np.int64]:
    """First note of each chord and of each quick group."""
    gap_s = np.diff(part.notes.onset_s, prepend=-np.inf)
    return np.flatnonzero(gap_s >= PARAMS.least_gap_s)


def _share_of_ticks(ticks_per_quarter: int) -> float:
    grid = {round(ticks_per_quarter * k / parts) for parts in DIVISIONS for k in range(parts)}
    return len(grid) / ticks_per_quarter


def _off_grid_ticks(
    ticks: NDArray[np.float64] | NDArray[np.int64], meter: MeterMap
) -> NDArray[np.float64]:
    """Signed distance to the nearest place of the grid, which starts anew with each signature."""
    piece = np.maximum(np.searchsorted(meter.ticks, ticks, side="right") - 1, 0)
    past = (ticks - meter.ticks[piece]).astype(np.float64)
    steps = [meter.ticks_per_quarter / parts for parts in DIVISIONS]
    off = np.stack([past - np.rint(past / step) * step for step in steps])
    nearest: NDArray[np.float64] = off[np.abs(off).argmin(axis=0), np.arange(len(ticks))]
    return nearest
