"""Which notes begin together: for a player, the strings of one chord."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mockcheck.params import Params, quantity


class TogetherParams(Params):
    """When two onsets are one."""

    chord_spread_s: float = quantity(
        0.035,
        unit="s",
        low=0,
        high=0.1,
        meaning="onsets at most this far apart begin one chord, struck or quickly rolled",
        source="onset differences between players of one ensemble, standard deviation 27 to 49 ms:"
        " Rasch, Synchronization in performed ensemble music (1979)",
    )

    run_share: float = quantity(
        0.5,
        unit="share of the shorter note",
        low=0,
        high=1,
        meaning="notes close together that overlap less than this follow each other: a run",
    )


TOGETHER = TogetherParams()
_CLOCK_S = 1e-6
"""Seconds come from ticks through a tempo map; this hides the last bits of the sums."""


def group_onsets(onset_s: NDArray[np.float64], release_s: NDArray[np.float64]) -> NDArray[np.int64]:
    """Notes struck within a few hundredths of a second begin as one.

    Parameters
    ----------
    onset_s, release_s
        Key down, never falling, and key up, s, shape (n,).

    Returns
    -------
    Number of the onset each note belongs to, from 0, shape (n,). An onset spans at most
    `chord_spread_s` from its first note, and its notes sound together: a run that is faster than
    that stays a run.
    """
    spread_s = TOGETHER.chord_spread_s + _CLOCK_S
    gap_s = np.diff(onset_s, prepend=-np.inf)
    begins = gap_s > spread_s
    begins[1:] |= (gap_s[1:] > _CLOCK_S) & _is_left(onset_s, release_s)
    chains = np.flatnonzero(begins)
    if len(chains) == 0:
        return np.zeros(0, np.int64)
    after = np.append(chains[1:], len(onset_s))
    too_long = onset_s[after - 1] - onset_s[chains] > spread_s
    for first, end in zip(chains[too_long].tolist(), after[too_long].tolist(), strict=True):
        _split_chain(onset_s, begins, first, end, spread_s)
    return np.cumsum(begins) - 1


def _is_left(onset_s: NDArray[np.float64], release_s: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Where a note has (nearly) ended before the next begins, shape (n - 1,)."""
    shorter_s = np.minimum(release_s[:-1] - onset_s[:-1], release_s[1:] - onset_s[1:])
    overlap_s = release_s[:-1] - onset_s[1:]
    is_left: NDArray[np.bool_] = overlap_s < TOGETHER.run_share * shorter_s
    return is_left


def _split_chain(
    onset_s: NDArray[np.float64],
    begins: NDArray[np.bool_],
    first: int,
    end: int,
    spread_s: float,
) -> None:
    """Mark where a row of close onsets has to be cut."""
    while first < end:
        begins[first] = True
        reach = onset_s[first] + spread_s
        first += int(np.searchsorted(onset_s[first:end], reach, side="right"))


def first_rows(group: NDArray[np.int64]) -> NDArray[np.int64]:
    """First note of each onset, for `ufunc.reduceat`; shape (number of onsets,)."""
    return np.flatnonzero(np.diff(group, prepend=-1))
