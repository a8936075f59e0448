"""What a hand and a bow need for two movements together, beyond what each needs alone.

A finger that was lifted and is wanted again, and a bow that leaves a string and comes back, move
twice between three events. Neither movement shows it alone: the finger between is another one.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.playing.hand import THUMB
from mockcheck.playing.motion import bow_centre
from mockcheck.playing.times import Effort, MotionTimes

_FINGERS = (THUMB, 1, 2, 3, 4)


@dataclass(frozen=True)
class Held:
    """Stops and fingers by string of any number of placements, shape (..., strings)."""

    stop: NDArray[np.int8]
    finger: NDArray[np.int8]


Three = tuple[Held, Held, Held]
"""Placements of three events in a row; their shapes are broadcast against each other."""


def return_seconds(
    three: Three, times: MotionTimes, effort: Effort, *, is_bowed: bool
) -> NDArray[np.float64]:
    """Least time from the first to the third of three events, s; 0 where nothing comes back.

    Parameters
    ----------
    is_bowed
        Whether the bow draws both later notes; a plucked string needs no bow to come back.

    Source: `MotionTimes`, where each number is named.
    Not modelled: a finger that is set down early because it is free.
    """
    finger_s = finger_return_seconds(three, times, effort)
    return np.maximum(finger_s, bow_return_seconds(three, times, effort)) if is_bowed else finger_s


def finger_return_seconds(three: Three, times: MotionTimes, effort: Effort) -> NDArray[np.float64]:
    """The same for the left hand alone."""
    before, between, after = three
    shape = np.broadcast_shapes(*(side.stop.shape for side in three))[:-1]
    seconds = np.zeros(shape)
    for finger in _FINGERS:
        was, comes = (_place(side, finger) for side in (before, after))
        is_wanted = (was > 0) & (comes > 0) & (_place(between, finger) == 0)
        if not is_wanted.any():
            continue
        moves = is_wanted & (was != comes)
        seconds = np.maximum(seconds, np.where(moves, times.finger_elsewhere_s, 0.0))
        lifts = is_wanted & (was == comes) & _is_lifted(three, finger)
        seconds = np.maximum(seconds, np.where(lifts, times.finger_back_s, 0.0))
    return seconds * effort.finger


def _place(side: Held, finger: int) -> NDArray[np.int8]:
    """Stop under a finger, 0 where it is not used."""
    place: NDArray[np.int8] = np.where(side.finger == finger, side.stop, 0).max(axis=-1)
    return place


def _is_lifted(three: Three, finger: int) -> NDArray[np.bool_]:
    """Whether a lower note on its own string sends the finger up; else it may stay down."""
    before, between, after = three
    has = (before.finger == finger) & (before.stop > 0)
    has = has & (after.finger == finger) & (after.stop == before.stop)
    sounds_lower = (between.stop >= 0) & (between.stop < before.stop)
    lifted: NDArray[np.bool_] = np.any(has & sounds_lower, axis=-1)
    return lifted


def bow_return_seconds(three: Three, times: MotionTimes, effort: Effort) -> NDArray[np.float64]:
    """The same for the bow alone."""
    before, between, after = three
    there = bow_centre(between.stop) - bow_centre(before.stop)
    back = bow_centre(between.stop) - bow_centre(after.stop)
    # Half a string lies between a double stop and one of its notes: no crossing by itself.
    strings = np.minimum(np.abs(there), np.abs(back))
    comes_back = (there * back > 0) & (strings >= 1)
    seconds = times.crossing_back_s + times.crossing_back_extra_s * (strings - 1)
    return np.where(comes_back, seconds, 0.0) * effort.bow
