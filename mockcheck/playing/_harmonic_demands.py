"""What makes a harmonic harder than easy: how the string speaks, where and how wide the hand is.

Sources: partials 2 to 5 are the usable ones of a violin string (the web essay "On Violin
Harmonics", and table 1 of the paper "String Fingering Diagrams" (2005)). Touching a major third,
fourth or fifth above a stopped note, and the octave that violins never use: "Violin Mastery"
(1919). What longer strings speak, the minor third, and what cello and bass do are from memory.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import log2

from mockcheck.model.finding import Evidence
from mockcheck.playing.demands import (
    EASY_HAND_PLACE_SEMITONES,
    FINGER_DISTANCE,
    LOW_STRING_TOP_SEMITONES,
    SECTION_TOP_SEMITONES,
    Demand,
    Grade,
)
from mockcheck.playing.fingerboard import HIGHEST_STOP_SEMITONES, Fingerboard
from mockcheck.playing.hand import (
    BASS_HAND,
    CELLO_HAND,
    THUMB,
    VIOLA_HAND,
    VIOLIN_HAND,
    Hand,
    hand_for,
)
from mockcheck.units import SEMITONES_PER_OCTAVE

OUT_OF_TUNE_CENTS = 20.0
"""A natural harmonic cannot be tuned while it sounds: the fifth partial, 14 cents flat, passes in
a chord, the seventh, 31 cents flat, is heard as flat (common practice, no source)."""

AUDIBLE_CENTS = 10.0
"""From here on a message says how far off the note is (common practice, no source)."""

THUMB_FROM_SEMITONES = 2
"""Lowest stop of the thumb under a harmonic on cello and bass: first position (from memory)."""

DEPENDABLE_TOP_SEMITONES = 33
"""Highest sound of an artificial harmonic above its open string that speaks well: touched a
fourth above, the stopped note sounds best up to a sixth above the open string. Source: a violin
fingering chart for composers."""

RELIABLE_TOP_SEMITONES = 34
"""Above this it is a matter for soloists: D8 on the violin, G7 on the viola, G6 on the cello (the
violin's from the same chart and memory, the others from memory)."""


@dataclass(frozen=True)
class Partials:
    """Highest partial of an open string that speaks with ease, with care, and at all."""

    easy: int
    possible: int
    possible_on_low_strings: int
    highest: int


_PARTIALS = {
    VIOLIN_HAND: Partials(easy=4, possible=5, possible_on_low_strings=5, highest=8),
    VIOLA_HAND: Partials(easy=4, possible=5, possible_on_low_strings=5, highest=8),
    CELLO_HAND: Partials(easy=4, possible=6, possible_on_low_strings=8, highest=10),
    BASS_HAND: Partials(easy=4, possible=8, possible_on_low_strings=8, highest=12),
}

_ORDINALS = "second third fourth fifth sixth seventh eighth ninth tenth eleventh twelfth".split()


@dataclass(frozen=True)
class Form:
    """One kind of artificial harmonic: how far above the stopped note the other finger touches."""

    interval_semitones: int
    partial: int
    at_best: Grade
    reason: str


FORMS = (
    Form(5, 4, Grade.EASY, "Touching a fourth above is the standard form."),
    Form(7, 3, Grade.POSSIBLE, "Touching a fifth above takes a wide hand."),
    Form(12, 2, Grade.POSSIBLE, "Touching an octave above is for high thumb position only."),
    Form(4, 5, Grade.HARD, "Touching a major third above is less secure than a fourth."),
    Form(3, 6, Grade.HARD, "Touching a minor third above is rare and unreliable."),
)
"""Every artificial form, the commonest first."""


@dataclass(frozen=True)
class Spread:
    """The firm and the light finger on one string: which, how far apart, how hard."""

    fingers: tuple[int, int]
    reach_mm: float
    comfortable_mm: float
    widest_mm: float
    grade: Grade

    @property
    def strain(self) -> float:
        """Reach over the widest the two fingers open; above 1 no hand does it."""
        return self.reach_mm / self.widest_mm

    @property
    def demand(self) -> Demand:
        """The same in words for a player."""
        limit = f"{self.comfortable_mm:.0f} mm a hand opens to without strain"
        reason = (
            "The fingers have to open wide, but lie as they fall."
            if self.grade is Grade.POSSIBLE
            else f"The stretch is more than the {limit}; the player decides."
        )
        evidence = Evidence(FINGER_DISTANCE, self.reach_mm, self.comfortable_mm, "mm")
        return Demand(self.grade, reason, evidence)


def partials_of(board: Fingerboard) -> Partials:
    """The length of a string sets which of its partials speak."""
    return _PARTIALS[hand_for(board.string_length_mm)]


def semitones_up(node: int, partial: int) -> float:
    """Node k of n, at k/n of a string from the nut, as semitones above the open string."""
    return -SEMITONES_PER_OCTAVE * log2(1.0 - node / partial)


def semitones_sounded(partial: int) -> int:
    """How far above its string a partial sounds, to the nearest semitone."""
    return round(SEMITONES_PER_OCTAVE * log2(partial))


def cents_off(partial: int) -> float:
    """How far a partial lies from the nearest tempered note above its string, negative is flat."""
    return 100.0 * (SEMITONES_PER_OCTAVE * log2(partial) - semitones_sounded(partial))


def demands_of_natural(
    board: Fingerboard, hand: Hand, string: int, partial: int, touched: float
) -> Iterator[Demand]:
    """What a natural harmonic asks, touched some semitones above the open string; at least one."""
    partials = partials_of(board)
    is_low = string >= hand.high_strings
    possible = partials.possible_on_low_strings if is_low else partials.possible
    subject = f"The {_ORDINALS[partial - 2]} partial of the {board.string_letter(string)} string"
    cents = cents_off(partial)
    tuning = f"sounds {abs(cents):.0f} cents {'flat' if cents < 0 else 'sharp'}"
    if abs(cents) > OUT_OF_TUNE_CENTS:
        evidence = Evidence(
            "distance from the tempered pitch", abs(cents), OUT_OF_TUNE_CENTS, "cents"
        )
        yield Demand(Grade.HARD, f"{subject} {tuning}, and no finger can correct it.", evidence)
    if partial <= partials.easy:
        yield Demand(Grade.EASY, f"{subject} speaks readily.")
    elif partial <= possible:
        also = f", and {tuning}" if abs(cents) >= AUDIBLE_CENTS else ""
        yield Demand(Grade.POSSIBLE, f"{subject} needs a careful bow{also}.")
    else:
        evidence = Evidence("partial of the open string", partial, possible, "partials")
        yield Demand(Grade.HARD, f"{subject} does not speak reliably.", evidence)
    yield from _of_place(touched)


def demands_of_artificial(
    board: Fingerboard, hand: Hand, string: int, form: Form, stop: int, spread: Spread
) -> Iterator[Demand]:
    """What an artificial harmonic over a stop, semitones, asks; at least one, the stretch first."""
    if spread.grade is not Grade.EASY:
        yield spread.demand
    if hand.is_for_double_stops_only:
        reason = "On the bass artificial harmonics are for soloists, in thumb position."
        yield Demand(Grade.HARD, reason)
    if form.interval_semitones == SEMITONES_PER_OCTAVE and hand.thumb is None:
        yield Demand(Grade.HARD, "Touching an octave above is not used without the thumb.")
    letter = board.string_letter(string)
    above_open = stop + semitones_sounded(form.partial)
    if above_open > DEPENDABLE_TOP_SEMITONES:
        grade = Grade.HARD if above_open > RELIABLE_TOP_SEMITONES else Grade.POSSIBLE
        reason = f"So little of the {letter} string is left to vibrate that it speaks badly."
        evidence = Evidence(
            "sound above the open string", above_open, DEPENDABLE_TOP_SEMITONES, "semitones"
        )
        yield Demand(grade, reason, evidence)
    if stop > EASY_HAND_PLACE_SEMITONES and THUMB not in spread.fingers:
        reason = f"The hand leaves the neck: {stop} semitones up the {letter} string."
        yield Demand(Grade.POSSIBLE, reason)
    if stop > LOW_STRING_TOP_SEMITONES and string >= hand.high_strings:
        yield Demand(Grade.HARD, f"The {letter} string speaks badly above its octave.")
    yield Demand(form.at_best, form.reason)
    yield from _of_place(stop + semitones_up(1, form.partial))


def spread_for(board: Fingerboard, hand: Hand, form: Form, stop: int) -> Spread:
    """The easier of the outer fingers, or thumb and third finger, from stop to light finger.

    A finger that only touches the same string lies between one that reaches back across the board
    and one that stops a tenth on a higher string, and so does what it reaches (estimate).
    """
    reach_mm = board.string_length_mm * 2.0 ** (-stop / SEMITONES_PER_OCTAVE) / form.partial
    thumb = hand.thumb
    is_thumb_free = thumb is not None and stop >= THUMB_FROM_SEMITONES
    touched = stop + form.interval_semitones
    options = []
    if thumb is None or not is_thumb_free or touched <= thumb.fourth_finger_top_semitones:
        widest_mm = (hand.widest_mm[-1] + hand.tenth_mm) / 2.0
        limits_mm = (hand.comfortable_mm[-1], widest_mm)
        is_in_frame = form.interval_semitones <= hand.frame_semitones
        fingers = (hand.fingers[0], hand.fingers[-1])
        options.append(_graded(fingers, reach_mm, limits_mm, is_in_frame))
    if thumb is not None and is_thumb_free:
        limits_mm = (thumb.comfortable_mm[-1], thumb.widest_mm[-1])
        is_in_frame = form.interval_semitones <= thumb.frame_semitones
        options.append(_graded((THUMB, 3), reach_mm, limits_mm, is_in_frame))
    return min(options, key=lambda spread: (spread.grade, spread.strain))


def _graded(
    fingers: tuple[int, int], reach_mm: float, limits_mm: tuple[float, float], is_in_frame: bool
) -> Spread:
    comfortable_mm, widest_mm = limits_mm
    grade = Grade.IMPOSSIBLE
    if reach_mm <= comfortable_mm:
        grade = Grade.EASY
    elif reach_mm <= widest_mm:
        # What the fingers cover as they fall is wide in a low position, but no stretch.
        grade = Grade.POSSIBLE if is_in_frame else Grade.HARD
    return Spread(fingers, reach_mm, comfortable_mm, widest_mm, grade)


def _of_place(touched: float) -> Iterator[Demand]:
    """What a light finger high up the string asks; nodes are rounded as the board's end is."""
    if round(touched) > HIGHEST_STOP_SEMITONES:
        reason = "The light finger has to find its place beyond the end of the fingerboard."
        evidence = Evidence("touched place", touched, HIGHEST_STOP_SEMITONES, "semitones")
        yield Demand(Grade.HARD, reason, evidence)
    elif round(touched) > SECTION_TOP_SEMITONES:
        yield Demand(
            Grade.POSSIBLE, "The light finger touches more than two octaves up the string."
        )
