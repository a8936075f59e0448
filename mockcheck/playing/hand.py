"""How far the fingers of a left hand open, for each size of instrument; no search.

All distances are mm along the string between two fingers that are down together.

Where the numbers come from:

printed
    The stretch between stopped fingers in the chords of 116 open quartet scores (OpenScore String
    Quartets, CC0; fixtures/reference/hand_spans.csv). What nine printed chords in ten stay under
    is called easy, what 99 in 100 stay under comfortable.
frame
    A musical frame laid on the string, in half position, where it is widest (arithmetic): the
    closed cello hand 1-2-3-4 is a minor third, the bass hand 1-2-4 a whole tone; violin and viola
    open to a tritone (D4 F4 A4 F5 in print), and to a minor tenth between neighbouring strings.
fingerings
    Reaches that fit 99 % of 105,568 fingerings by professional violinists, and the shares of a
    full reach that neighbours (0.47) and fingers with one between (0.82) take of it; measured for
    this project on the violin fingering set of Jen et al. (2021).

Hands differ, and no measured distribution of players' hands was found; these are an adult
professional's on a full-size instrument. A player's own hand decides, never this table.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import sqrt

OPEN = 0
"""How an open string is written among finger numbers, and its stop in semitones."""

THUMB = -1
"""How the thumb is written among finger numbers; it lies behind, that is below, the first."""

WIDEST_STRETCH_SEMITONES = 9
"""The widest stretch along the string, semitones: nine is a tenth between strings a fifth apart.

Source: common practice, no source (a tenth is about the widest two-note chord one violinist
stops). Without it, millimetres alone would allow elevenths and thirteenths high up.
"""

WIDEST_STRETCH_OF_FOUR_SEMITONES = 7
"""The same for four notes at once, a ninth: a four-note chord with a stopped tenth between
neighbouring strings has to be divided (common practice, no source)."""

MOST_STRINGS_UNDER_ONE_FINGER = 3
"""Strings one finger lies across; two is the everyday bar, three a rarity (from memory)."""


@dataclass(frozen=True)
class Thumb:
    """Thumb position of cello and bass: the thumb lies on the string behind fingers 1, 2, 3.

    Parameters
    ----------
    comfortable_mm, widest_mm
        Thumb to first, second, third finger, mm.
    from_semitones
        Lowest stop the thumb is put on: the heel of the neck, a fifth above the open string.
    fourth_finger_top_semitones
        Above the octave the fourth finger is too short to be used.
    frame_semitones
        What thumb to third finger cover as they fall: the octave of thumb position.
    """

    comfortable_mm: tuple[float, float, float]
    widest_mm: tuple[float, float, float]
    from_semitones: int = 7
    fourth_finger_top_semitones: int = 12
    frame_semitones: int = 5


@dataclass(frozen=True)
class Hand:
    """One left hand on one size of instrument.

    Parameters
    ----------
    fingers
        Fingers that stop notes on the neck, in order.
    frame_semitones
        What the fingers cover along the string as they fall, first to last; only chooses among
        fingerings that are equally hard, never decides a verdict.
    easy_two_mm, easy_more_mm
        Stretch of the whole hand that lies easily, in two-note and in larger chords, mm.
    comfortable_mm
        Widest distance without strain, mm: neighbours in `fingers`, then one between, then two.
    widest_mm
        The same for a hand opened as far as it goes.
    tenth_mm
        Lowest to highest finger, the highest on a higher string, as in a tenth, mm.
    high_strings
        How many strings, from the highest, are played above their octave.
    thumb
        Thumb position, None where the thumb holds the instrument.
    is_for_double_stops_only
        True for the bass: any stopped double stop is a matter to weigh, more notes are worse.
    """

    fingers: tuple[int, ...]
    frame_semitones: int
    easy_two_mm: float
    easy_more_mm: float
    comfortable_mm: tuple[float, ...]
    widest_mm: tuple[float, ...]
    tenth_mm: float
    high_strings: int
    thumb: Thumb | None = None
    is_for_double_stops_only: bool = False

    def steps(self, lower: int, higher: int) -> int:
        """Fingers from one to the next: 1 for neighbours, 2 with one between, and so on."""
        if lower in self.fingers and higher in self.fingers:
            return self.fingers.index(higher) - self.fingers.index(lower)
        in_thumb_position = (THUMB, 1, 2, 3)
        return in_thumb_position.index(higher) - in_thumb_position.index(lower)

    def comfortable_reach_mm(self, lower: int, higher: int) -> float:
        """Widest distance between two fingers without strain, mm; `lower` is nearer the nut."""
        reaches_mm = self.comfortable_mm
        if lower == THUMB and self.thumb is not None:
            reaches_mm = self.thumb.comfortable_mm
        return reaches_mm[self.steps(lower, higher) - 1]

    def widest_reach_mm(self, lower: int, higher: int, *, is_as_in_a_tenth: bool) -> float:
        """Widest distance between two fingers of an opened hand, mm.

        The little finger opens furthest when it stands on a higher string than the first, as in
        a tenth, not when it reaches back across the board.
        """
        if lower == THUMB and self.thumb is not None:
            return self.thumb.widest_mm[higher - 1]
        if is_as_in_a_tenth and (lower, higher) == (self.fingers[0], self.fingers[-1]):
            return self.tenth_mm
        return self.widest_mm[self.steps(lower, higher) - 1]


VIOLIN_HAND = Hand(
    fingers=(1, 2, 3, 4),
    frame_semitones=5,  # an octave between neighbouring strings
    easy_two_mm=64.0,  # printed: 63.9 at 90 % of 26,066 chords
    easy_more_mm=60.5,  # printed: 60.3 at 90 % of 1,875 chords of three notes
    comfortable_mm=(40.0, 66.0, 78.0),  # fingerings; printed: 77.7 at 99 %
    widest_mm=(43.0, 75.0, 91.0),  # frame: tritone 90.7, shared out as in the fingerings
    tenth_mm=115.0,  # frame: minor tenth A flat 3 - B4, 114.6
    high_strings=1,
)

VIOLA_HAND = Hand(
    fingers=(1, 2, 3, 4),
    frame_semitones=5,
    # The same human hand: what lies easily in mm does not grow with the instrument.
    easy_two_mm=VIOLIN_HAND.easy_two_mm,
    easy_more_mm=VIOLIN_HAND.easy_more_mm,
    comfortable_mm=VIOLIN_HAND.comfortable_mm,
    widest_mm=(49.0, 85.0, 104.0),  # frame: tritone 103.7, shared out as in the fingerings
    tenth_mm=131.0,  # frame: minor tenth D flat 3 - E4, 131.0
    high_strings=1,
)

CELLO_HAND = Hand(
    fingers=(1, 2, 3, 4),
    frame_semitones=3,  # semitone by semitone
    easy_two_mm=67.1,  # printed: 67.1 at 90 % of 5,674 chords, a whole tone in first position
    easy_more_mm=67.1,  # printed: 67.1 at 90 % of 1,040 chords of three notes
    comfortable_mm=(37.0, 72.0, 104.0),  # frame: semitone, whole tone, minor third
    widest_mm=(78.0, 135.0, 165.0),  # printed: octave in half position 163.4, shared out
    tenth_mm=165.0,
    high_strings=2,
    thumb=Thumb(
        comfortable_mm=(70.0, 95.0, 116.0),  # frame: octave with the thumb at the heel, 115.5
        widest_mm=(90.0, 123.0, 150.0),  # from memory
    ),
)

BASS_HAND = Hand(
    fingers=(1, 2, 4),  # the third only helps the fourth on the neck
    frame_semitones=2,  # semitone by semitone
    easy_two_mm=110.0,
    easy_more_mm=110.0,
    comfortable_mm=(57.0, 110.0),  # frame: semitone 56.2, whole tone 109.2
    widest_mm=(80.0, 160.0),  # frame: minor third 159.2, one semitone beyond the hand
    tenth_mm=160.0,
    high_strings=2,
    thumb=Thumb(comfortable_mm=(70.0, 95.0, 116.0), widest_mm=(90.0, 123.0, 150.0)),
    is_for_double_stops_only=True,
)

_HANDS = ((328.0, VIOLIN_HAND), (375.0, VIOLA_HAND), (690.0, CELLO_HAND), (1060.0, BASS_HAND))


def hand_for(string_length_mm: float) -> Hand:
    """The size of an instrument sets the posture of the hand, whatever its tuning and name.

    The nearest of violin 328, viola 375, cello 690 and bass 1060 mm is taken, by ratio.
    """
    for (shorter_mm, hand), (longer_mm, _) in pairwise(_HANDS):
        if string_length_mm < sqrt(shorter_mm * longer_mm):
            return hand
    return BASS_HAND
