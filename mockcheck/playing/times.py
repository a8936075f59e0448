"""The least times of a hand and a bow, and how far players lie around them.

Every time is for a soloist who has practised; a level multiplies all of them. The numbers began as
values checked against recordings of études and caprices: fastest sustained rates, the 5 % quantile
of the time between notes by leap and by double stop. Bow changes lie on a frontier: the longest at
which no passage of the even rows of a table of published passages with metronome marks is
impossible; of the odd rows none is either. Their spread was set by hand with all rows in view.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from mockcheck.params import Params, quantity

_RECORDED = (
    "start value that survived a check against 671,598 notes of recorded violin études and caprices"
)
_FRONTIER = "the longest at which no passage of half a table of published marks is impossible"
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
        0.074,
        unit="s",
        low=0.01,
        high=0.5,
        meaning="next bow stroke, other note",
        source=f"13.5 a second, near the speed record of 13 to 14.3 in separate bows; {_FRONTIER}",
    )
    repeated_s: float = quantity(
        0.064,
        unit="s",
        low=0.01,
        high=0.5,
        meaning="next bow stroke, same note (tremolo)",
        source="fastest counted tremolo in alignments of open orchestral scores, 15.6 a second",
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
    finger_back_s: float = quantity(
        0.115,
        unit="s",
        low=0,
        high=1,
        meaning="a lifted finger comes down again where it was: both movements together",
        source="fastest trills of recorded caprices, 17.4 notes a second; " + _RECORDED,
    )
    finger_elsewhere_s: float = quantity(
        0.135,
        unit="s",
        low=0,
        high=1,
        meaning="a finger that another one relieves comes down elsewhere: both movements together",
        source="broken octaves of recorded caprices, 14.8 notes a second; " + _RECORDED,
    )
    crossing_back_s: float = quantity(
        0.112,
        unit="s",
        low=0,
        high=1,
        meaning="the bow goes to the next string and back: both movements together",
        source=_RECORDED,
    )
    crossing_back_extra_s: float = quantity(
        0.014,
        unit="s",
        low=0,
        high=1,
        meaning="more for each string that lies between",
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
