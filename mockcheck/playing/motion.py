"""How long a hand and a bow need from one event to the next."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mockcheck.playing.placements import Placements
from mockcheck.playing.times import Effort, MotionTimes


def left_hand_seconds(
    before: Placements, after: Placements, times: MotionTimes, effort: Effort
) -> NDArray[np.float64]:
    """Least time of the left hand from each placement to each, s, shape (len(before), len(after)).

    Source: hand moves by distance after P. Fitts (1954); finger actions and double stops as
    declared with each time.
    Not modelled: fingers that stay down under others, and fatigue.
    """
    action = _finger_action(before, after, times) * effort.finger
    distance_mm: NDArray[np.float64] = np.abs(before.hand_mm[:, None] - after.hand_mm)
    is_still = (distance_mm < 0.5) & (before.is_thumb[:, None] == after.is_thumb)
    leaves_note: NDArray[np.bool_] = np.any(before.stop > 0, axis=1)[:, None]
    is_double: NDArray[np.bool_] = np.sum(after.stop > 0, axis=1) > 1
    shift = (
        times.shift_s
        + times.shift_per_doubling_s * np.log2(1 + distance_mm / times.shift_unit_mm)
        + times.leave_note_s * leaves_note
        + times.finger_part_of_shift * action
        + times.shift_double_stop_s * is_double
    )
    return np.where(is_still, action, shift)


def _finger_action(
    before: Placements, after: Placements, times: MotionTimes
) -> NDArray[np.float64]:
    shape = (len(before), len(after))
    new, held, ready = (np.zeros(shape, np.int8) for _ in range(3))
    lifted = np.zeros(shape, np.bool_)
    slowest = np.zeros(shape)
    had_third: NDArray[np.bool_] = np.any(before.finger == 3, axis=1)[:, None]
    had_fourth: NDArray[np.bool_] = np.any(before.finger == 4, axis=1)[:, None]
    for string in range(after.stop.shape[1]):
        stop, finger = after.stop[:, string], after.finger[:, string]
        was_stop, was_finger = before.stop[:, string, None], before.finger[:, string, None]
        is_stopped = stop > 0
        stays = is_stopped & (was_stop == stop) & (was_finger == finger)
        comes = is_stopped & ~stays
        new += comes
        held += stays
        lifted |= (stop == 0) & (was_stop > 0)
        reused, barred = _reuse(before, stop, finger, string)
        # On a string that is silent before, a free finger stands in its place in time.
        ready += comes & (was_stop < 0) & ~reused
        weak = (had_third & (finger == 4)) | (had_fourth & (finger == 3))
        down = np.where(weak, times.weak_fingers_s, times.finger_s)
        down = np.where(reused, np.where(barred, times.bar_s, times.same_finger_s), down)
        slowest = np.maximum(slowest, np.where(comes, down, 0.0))
    action: NDArray[np.float64] = np.select(
        [new - ready > 1, new > 1, (new == 1) & (held > 0), new == 1, lifted],
        [
            np.maximum(slowest, times.two_fingers_s),
            np.maximum(slowest, times.one_of_two_s),
            np.full(shape, times.one_of_two_s),
            slowest,
            np.full(shape, times.lift_s),
        ],
        0.0,
    )
    stretched = np.where(after.is_stretched & (new > 0), times.stretch_s, 0.0)
    total: NDArray[np.float64] = action + stretched
    return total


def _reuse(
    before: Placements, stop: NDArray[np.int8], finger: NDArray[np.int8], string: int
) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Where the finger for a note was just used elsewhere, and where it only has to roll over."""
    reused = np.zeros((len(before), len(stop)), np.bool_)
    barred = reused.copy()
    for other in range(before.stop.shape[1]):
        was_stop = before.stop[:, other, None]
        same = (was_stop > 0) & (before.finger[:, other, None] == finger)
        reused |= same
        if abs(other - string) == 1:
            barred |= same & (was_stop == stop)
    return reused, barred


def crossing_strings(before: Placements, after: Placements) -> NDArray[np.int64]:
    """Strings the bow travels between placements, shape (len(before), len(after))."""
    centre = [bow_centre(side.stop) for side in (before, after)]
    return np.ceil(np.abs(centre[0][:, None] - centre[1]) - 1e-9).astype(np.int64)


def bow_centre(stop: NDArray[np.int8]) -> NDArray[np.float64]:
    """The string the bow lies on, between two for a double stop; shape without the last axis."""
    used = stop >= 0
    count: NDArray[np.int64] = np.maximum(used.sum(axis=-1), 1)
    strings = np.arange(stop.shape[-1])
    centre: NDArray[np.float64] = np.divide((used * strings).sum(axis=-1), count, dtype=np.float64)
    return centre


def bow_seconds(
    before: Placements,
    after: Placements,
    times: MotionTimes,
    effort: Effort,
    stroke: str,
) -> NDArray[np.float64]:
    """Least time of the bow arm from each placement to each, s.

    `stroke` is 'slurred', 'separate', 'repeated', or 'free' where the bow is not the question:
    plucked notes and long repetitions, which have limits of their own. Shape (len(before),
    len(after)).
    """
    if stroke == "free":
        return np.zeros((len(before), len(after)))
    extra = np.array([0, times.crossing_s, times.crossing_two_s, times.crossing_three_s])
    crossing = extra[np.minimum(crossing_strings(before, after), 3)]
    stroke_s = {
        "slurred": times.slurred_s,
        "separate": times.separate_s,
        "repeated": times.repeated_s,
    }[stroke]
    notes = (before.stop >= 0).sum(axis=1)[:, None]
    broken = np.where(notes > 3, times.broken_four_s, np.where(notes == 3, times.broken_three_s, 0))
    seconds: NDArray[np.float64] = (stroke_s + crossing) * effort.bow + broken
    return seconds
