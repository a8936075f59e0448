"""How far the bend moves while a note sounds: a bend that only stands still was left over."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.slides import bend_curve
from mockcheck.model.notes import Notes
from mockcheck.model.played import Role
from mockcheck.model.score import Track


def bend_travel(
    notes: Notes, role: Role, track: Track, range_semitones: float | None
) -> NDArray[np.float64]:
    """Way the bend goes, up and down together, between key down and key up of each note.

    Parameters
    ----------
    notes
        The music of one review row, in time order.
    range_semitones
        The bend range of the brief; it counts only where the file sets none.

    Returns
    -------
    Cents, shape (n,); a value sent at key down or key up is no travel.
    """
    travel = np.zeros(len(notes))
    for channel in role.channels:
        rows = notes.channel == channel
        curve = bend_curve(track, channel, range_semitones)
        if not rows.any() or not len(curve):
            continue
        steps = np.abs(np.diff(curve.values, prepend=curve.default))
        so_far = np.concatenate([[0.0], np.cumsum(steps)])
        after_onset = np.searchsorted(curve.ticks, notes.onset_ticks[rows], side="right")
        before_release = np.searchsorted(curve.ticks, notes.release_ticks[rows], side="left")
        travel[rows] = np.maximum(so_far[before_release] - so_far[after_onset], 0.0)
    return travel
