"""How long a hand and a bow need from one event to the next.

Every time is for a soloist who has practised; a level multiplies all of them. The numbers began as
values checked against recordings of études and caprices: fastest sustained rates, the 5 % quantile
of the time between notes by leap and by double stop. Bow times and their spread were then moved by
hand, looking at all 51 rows of a table of published passages with metronome marks, until none was
called impossible; those rows are no independent proof of them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.params import Params, quantity
from mockcheck.playing.placements import Placements

_RECORDED = (
    "start value that survived a check against 671,598 notes of recorded violin études and caprices"
)
_ADJUSTED = "set by hand so that no published passage is impossible"
_RATES = "double stops in recorded caprices, 5 % quantile"


class MotionTimes(Params):
    """Least times of a practised soloist on the violin."""

    finger_s: float = quantity(
        0.056,
        unit="s",
        low=0.01,
        high=0.5,
        meaning="another finger comes down while the hand stays",
        source=_RECORDED,
    )
    weak_fingers_s: float = quantity(
        0.060,
        unit="s",
        low=0.01,
        high=0.5,
        meaning="third and fourth finger take turns",
        source=_RECORDED,
    )
    lift_s: float = quantity(
        0.040,
        unit="s",
        low=0.01,
        high=0.5,
        meaning="a finger lifts and leaves the open string",
        source=_RECORDED,
    )
    same_finger_s: float = quantity(
        0.085,
        unit="s",
        low=0.01,
        high=0.5,
        meaning="one finger goes to another place while the hand stays",
        source=_RECORDED,
    )
    bar_s: float = quantity(
        0.058,
        unit="s",
        low=0.01,
        high=0.5,
        meaning="one finger rolls to the same place of the next string",
        source=_RECORDED,
    )
    stretch_s: float = quantity(
        0.010,
        unit="s",
        low=0,
        high=0.5,
        meaning="more for a finger that leaves the frame",
        source=_RECORDED,
    )
    two_fingers_s: float = quantity(
        0.105,
        unit="s",
        low=0.01,
        high=0.5,
        meaning="two fingers come down together",
        source=f"{_RATES}: thirds 105 ms",
    )
    one_of_two_s: float = quantity(
        0.070,
        unit="s",
        low=0.01,
        high=0.5,
        meaning="one finger of a double stop moves, the other stays",
        source=f"{_RATES}: octaves 64 ms",
    )
    shift_s: float = quantity(
        0.045,
        unit="s",
        low=0.01,
        high=1,
        meaning="shortest shift of the hand",
        source=_RECORDED,
    )
    shift_per_doubling_s: float = quantity(
        0.017,
        unit="s",
        low=0,
        high=0.2,
        meaning="more for each doubling of the distance (P. Fitts, 1954: movement time grows with"
        " the logarithm of distance)",
        source=_RECORDED,
    )
    shift_unit_mm: float = quantity(
        8,
        unit="mm",
        low=1,
        high=100,
        meaning="distance at which that growth begins",
        source=_RECORDED,
    )
    leave_note_s: float = quantity(
        0.020,
        unit="s",
        low=0,
        high=0.5,
        meaning="more when the shift leaves a stopped note, which has to sound first",
        source=_RECORDED,
    )
    finger_part_of_shift: float = quantity(
        0.3,
        unit="share of the finger's time",
        low=0,
        high=1,
        meaning="what placing the finger adds to a shift; the rest happens on the way",
        source=_RECORDED,
    )
    shift_double_stop_s: float = quantity(
        0.015,
        unit="s",
        low=0,
        high=0.5,
        meaning="more when a double stop ends the shift",
        source=_RECORDED,
    )
    slurred_s: float = quantity(
        0.045,
        unit="s",
        low=0.01,
        high=0.5,
        meaning="next note under the same bow",
        source=_RECORDED,
    )
    separate_s: float = quantity(
        0.073,
        unit="s",
        low=0.01,
        high=0.5,
        meaning="next bow stroke, other note",
        source=f"13.7 a second, near the speed record of 13 to 14.3 in separate bows; {_ADJUSTED}",
    )
    repeated_s: float = quantity(
        0.064,
        unit="s",
        low=0.01,
        high=0.5,
        meaning="next bow stroke, same note (tremolo)",
        source="fastest counted tremolo in alignments of open orchestral scores, 15.6 a second;"
        f" {_ADJUSTED}",
    )
    crossing_s: float = quantity(
        0.007,
        unit="s",
        low=0,
        high=0.5,
        meaning="more to the next string",
        source="a crossing begins 15 degrees of the bow cycle before the turn, 22 violinists (PLoS"
        " ONE 9:e106615, 2014): 6 ms at the fastest strokes; rounded up",
    )
    crossing_two_s: float = quantity(
        0.028,
        unit="s",
        low=0,
        high=0.5,
        meaning="more over one string",
        source=_RECORDED,
    )
    crossing_three_s: float = quantity(
        0.045,
        unit="s",
        low=0,
        high=0.5,
        meaning="more over two strings",
        source=_RECORDED,
    )
    broken_three_s: float = quantity(
        0.060,
        unit="s",
        low=0,
        high=0.5,
        meaning="more to break a chord of three before going on",
        source="from memory",
    )
    broken_four_s: float = quantity(
        0.120,
        unit="s",
        low=0,
        high=0.5,
        meaning="more to break a chord of four before going on",
        source="from memory",
    )


@dataclass(frozen=True)
class Effort:
    """How much heavier an instrument is than the violin: factors on finger and bow times."""

    finger: float
    bow: float


_STRING_LENGTH_MM = (328.0, 375.0, 690.0, 1060.0)
_FINGER_EFFORT = (1.0, 1.1, 1.15, 1.35)
_BOW_EFFORT = (1.0, 1.03, 1.06, 1.15)


def effort_for(string_length_mm: float) -> Effort:
    """Longer strings are thicker: fingers press and bows grip more slowly.

    Fingers: violin 1; viola, cello and bass from memory. Bow: cellos and basses are heard at 9.2 to
    10.1 separate notes a second where violins reach 10.1 (score-to-recording alignments of open
    orchestral scores), so the bow differs less than the hand. Sizes between are interpolated.
    """
    return Effort(
        float(np.interp(string_length_mm, _STRING_LENGTH_MM, _FINGER_EFFORT)),
        float(np.interp(string_length_mm, _STRING_LENGTH_MM, _BOW_EFFORT)),
    )


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
    new, held = np.zeros(shape, np.int8), np.zeros(shape, np.int8)
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
        weak = (had_third & (finger == 4)) | (had_fourth & (finger == 3))
        down = np.where(weak, times.weak_fingers_s, times.finger_s)
        down = np.where(reused, np.where(barred, times.bar_s, times.same_finger_s), down)
        slowest = np.maximum(slowest, np.where(comes, down, 0.0))
    action: NDArray[np.float64] = np.select(
        [new > 1, (new == 1) & (held > 0), new == 1, lifted],
        [
            np.maximum(slowest, times.two_fingers_s),
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
    centre = [_bow_centre(side) for side in (before, after)]
    return np.ceil(np.abs(centre[0][:, None] - centre[1]) - 1e-9).astype(np.int64)


def _bow_centre(side: Placements) -> NDArray[np.float64]:
    used = side.stop >= 0
    strings = np.arange(side.stop.shape[1])
    count: NDArray[np.int64] = np.maximum(used.sum(axis=1), 1)
    centre: NDArray[np.float64] = np.divide((used * strings).sum(axis=1), count, dtype=np.float64)
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


FINGER_SPREAD, SHIFT_SPREAD, BOW_SPREAD = 0.08, 0.15, 0.08
"""How far players' times lie around the declared ones, as shares. From memory, and set by hand with
the bow times above: shifts vary most, because each player has an own pace (540 shifts of six
professionals, PeerJ 3:e1299, 2015, which gave no figure)."""

_SHIFT_TIMES = ("shift_s", "shift_per_doubling_s", "leave_note_s", "shift_double_stop_s")
_BOW_TIMES = ("slurred_s", "separate_s", "repeated_s")


def uncertain_times(times: MotionTimes) -> tuple[MotionTimes, MotionTimes]:
    """The least and the longest times that the same kind of player may need."""
    values = times.model_dump()
    return tuple(  # type: ignore[return-value]  # two of them
        times.model_copy(
            update={
                name: value * (1 + sign * _spread(name))
                for name, value in values.items()
                if name.endswith("_s")
            }
        )
        for sign in (-1, 1)
    )


def _spread(name: str) -> float:
    if name in _SHIFT_TIMES:
        return SHIFT_SPREAD
    return BOW_SPREAD if name in _BOW_TIMES or name.startswith("crossing") else FINGER_SPREAD
