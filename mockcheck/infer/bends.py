"""The bend as each note has it: where it stands at the onset and how far it moves meanwhile."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mockcheck.model.curves import Curve
from mockcheck.model.notes import Notes
from mockcheck.model.played import Role
from mockcheck.model.score import Track

_USUAL_SEMITONES, _MPE_SEMITONES = 2.0, 48.0


def assumed_range(track: Track, channel: int) -> float:
    """What the reading took where no message set the range, semitones.

    Source: General MIDI System Level 1; for member channels MIDI Polyphonic Expression 1.0, 2.4.
    """
    is_member = track.mpe is not None and channel in track.mpe.member_channels
    return _MPE_SEMITONES if is_member else _USUAL_SEMITONES


def bend_curve(track: Track, channel: int, range_semitones: float | None) -> Curve:
    """Bend of the notes on one channel, cents; a range that is known replaces an assumed one.

    Under MIDI Polyphonic Expression the manager channel's bend is added.
    """
    own = track.curves(channel)
    bend = own.bend_cents
    if range_semitones is not None and own.bend_range_assumed:
        scale = range_semitones / assumed_range(track, channel)
        bend = Curve(bend.ticks, bend.time_s, bend.values * scale, bend.default * scale)
    if track.mpe is None or channel not in track.mpe.member_channels:
        return bend
    manager = track.curves(track.mpe.manager_channel).bend_cents
    if len(manager) == 0:
        return bend
    ticks, rows = np.unique(np.concatenate([bend.ticks, manager.ticks]), return_index=True)
    time_s = np.concatenate([bend.time_s, manager.time_s])[rows]
    total = bend.value_at_ticks(ticks) + manager.value_at_ticks(ticks)
    return Curve(ticks, time_s, total, bend.default + manager.default)


def bend_at_onset(
    notes: Notes, role: Role, track: Track, range_semitones: float | None
) -> NDArray[np.float64]:
    """Bend in force when each note begins, cents, shape (n,); one sent at that tick counts."""
    cents = np.zeros(len(notes))
    for channel in role.channels:
        rows = notes.channel == channel
        if rows.any():
            curve = bend_curve(track, channel, range_semitones)
            cents[rows] = curve.value_at_ticks(notes.onset_ticks[rows])
    return cents


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
