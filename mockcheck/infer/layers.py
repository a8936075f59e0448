"""Tracks of one part that sound together: layers of one sound, or players of their own."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.onsets import TOGETHER
from mockcheck.infer.streams import find_streams
from mockcheck.model.notes import Notes
from mockcheck.params import Params, quantity


class LayerParams(Params):
    """What makes one track a layer of another."""

    doubled_share: float = quantity(
        0.5,
        unit="share of the notes",
        low=0.1,
        high=1,
        meaning="tracks are layers of one sound when so many notes of the smaller are doubled",
    )


LAYER = LayerParams()
_CLOCK_S = 1e-6


def find_groups(notes: Notes, track: NDArray[np.int64]) -> NDArray[np.int64]:
    """Tracks that take turns or double each other are the same players; others are two groups.

    Parameters
    ----------
    notes
        All notes of one part, in time order, shape (n,).
    track
        The track each is from, shape (n,).

    Returns
    -------
    Number of the group of players each note belongs to, shape (n,).

    Source: a sound built of several tracks that play the same notes is common practice, no source.
    """
    if len(np.unique(track)) < 2:
        return np.zeros(len(notes), np.int64)
    group = find_streams(notes, track)
    for upper in np.unique(group)[::-1].tolist():
        own = np.flatnonzero(group == upper)
        for lower in range(upper):
            others = np.flatnonzero(group == lower)
            doubled = int(_is_doubled(notes, own, others).sum())
            if doubled >= LAYER.doubled_share * min(len(own), len(others)):
                group[own] = lower
                break
    return group


def _is_doubled(
    notes: Notes, own: NDArray[np.int64], others: NDArray[np.int64]
) -> NDArray[np.bool_]:
    """Notes that another track strikes at the same time on the same pitch."""
    if not len(others):
        return np.zeros(len(own), np.bool_)
    # One long axis: the whole part once for each pitch.
    length_s = float(notes.onset_s.max()) + 1.0
    theirs = np.sort(notes.pitch[others] * length_s + notes.onset_s[others])
    mine = notes.pitch[own] * length_s + notes.onset_s[own]
    after = np.searchsorted(theirs, mine)
    nearest = np.minimum(
        np.abs(theirs[np.minimum(after, len(theirs) - 1)] - mine),
        np.abs(theirs[np.maximum(after - 1, 0)] - mine),
    )
    is_doubled: NDArray[np.bool_] = nearest <= TOGETHER.chord_spread_s + _CLOCK_S
    return is_doubled
