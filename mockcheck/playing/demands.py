"""What a way of holding a chord asks of the player, and how hard each demand makes it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import IntEnum

from mockcheck.model.finding import Evidence
from mockcheck.playing.fingerboard import Fingerboard
from mockcheck.playing.hand import THUMB, Hand

EXPOSED_INTERVALS = {5: "fourth", 6: "tritone", 7: "fifth"}
"""Semitones of the intervals that are hard to tune when both notes are stopped and held.

Source: fourths are called less easy, but playable, beside thirds and sixths (Forsyth,
Orchestration (1914) pp. 316-317); a fingering chart for composers says the same of stopped fifths.
"""

EASY_HAND_PLACE_SEMITONES = 7
"""Highest place of the lowest finger with the hand on the neck: fourth position, where the hand
meets the body. The heel lies at 0.4 of the string, 8.8 semitones, on violin and viola, whose neck
and body stop are as 2 to 3, a little lower on cello and bass (common practice, no source)."""

EASY_TOP_OF_CHORD_SEMITONES = 9
"""Highest stop of three or more notes: they are struck at once, so every finger has to find its
place on the neck (same heel)."""

WHOLE_FRAME_SEMITONES = 5
"""A fourth along the string, an octave between neighbouring strings, takes the whole hand: octave
and ninth count as stretches (common practice, no source)."""

EASY_TOP_BESIDE_OPEN_SEMITONES = 12
"""One finger, alone or beside one open string, is at home up to the octave of its string (common
practice, no source)."""

LOW_STRING_TOP_SEMITONES = 12
"""Above its octave a low string speaks badly, and the arm has to come round the body (from
memory)."""

SECTION_TOP_SEMITONES = 24
"""Two octaves up the string: E7, the top of a violin section. Source: Prout, The Orchestra,
vol. 1 (1899) p. 19."""

FINGER_DISTANCE = "distance between two fingers along the string"


class Grade(IntEnum):
    """How hard a chord is to hold; higher is harder."""

    EASY = 0
    POSSIBLE = 1
    HARD = 2
    IMPOSSIBLE = 3


@dataclass(frozen=True, slots=True)
class Contact:
    """One finger on the board: its stop, semitones, and the strings it lies across."""

    stop: int
    strings: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Pair:
    """Two fingers that are down together, `lower` nearer the nut; distances in mm."""

    lower: int
    higher: int
    distance_mm: float
    comfortable_mm: float
    widest_mm: float

    @property
    def strain(self) -> float:
        """Distance over the widest the two fingers open; above 1 no hand does it."""
        return self.distance_mm / self.widest_mm


@dataclass(frozen=True, slots=True)
class Demand:
    """One thing a chord asks: how hard it is, a sentence for a player, its number if it has one."""

    grade: Grade
    reason: str
    evidence: Evidence | None = None


def demands(
    board: Fingerboard,
    hand: Hand,
    pitches: tuple[int, ...],
    strings: tuple[int, ...],
    placed: tuple[Contact, ...],
    fingers: tuple[int, ...],
    pairs: tuple[Pair, ...],
) -> Iterator[Demand]:
    """Everything that makes a chord harder than easy.

    Parameters
    ----------
    pitches, strings
        Sounding MIDI pitches, low to high, and the string of each.
    placed, fingers
        Fingers on the board from the nut upwards, and their numbers.
    pairs
        Every two of them, none strained beyond 1.
    """
    yield from _of_fingers(placed, fingers)
    if pairs:
        yield from _of_stretch(hand, len(pitches), placed, pairs)
    if placed:
        yield from _of_position(board, hand, len(pitches), placed)
    if len(pitches) == 2 and sum(len(contact.strings) for contact in placed) == 2:
        interval = EXPOSED_INTERVALS.get(pitches[1] - pitches[0])
        if interval is not None:
            reason = f"A {interval} with both notes stopped shows every error of tuning."
            yield Demand(Grade.POSSIBLE, reason)
    if len(pitches) > 2 and strings != tuple(sorted(strings, reverse=True)):
        # A broken chord is rolled from the low strings up; these notes would come out of order.
        reason = "A lower note lies on a higher string, so the chord cannot be rolled in order."
        yield Demand(Grade.HARD, reason)
    if hand.is_for_double_stops_only:
        yield from _of_bass(len(pitches), is_stopped=bool(placed))


def finger_name(finger: int) -> str:
    """A finger in words."""
    return {THUMB: "thumb", 1: "first", 2: "second", 3: "third", 4: "fourth"}[finger]


def _of_stretch(
    hand: Hand, notes: int, placed: tuple[Contact, ...], pairs: tuple[Pair, ...]
) -> Iterator[Demand]:
    tightest = max(pairs, key=lambda pair: pair.distance_mm / pair.comfortable_mm)
    if tightest.distance_mm > tightest.comfortable_mm:
        yield _stretch(
            Grade.HARD,
            tightest,
            tightest.comfortable_mm,
            "a hand opens to without strain; the player decides",
        )
        return
    easy_mm = hand.easy_two_mm if notes == 2 else hand.easy_more_mm
    outer = max(pairs, key=lambda pair: pair.distance_mm)
    if outer.distance_mm > easy_mm:
        yield _stretch(Grade.POSSIBLE, outer, easy_mm, "that lie easily")
    elif placed[-1].stop - placed[0].stop >= WHOLE_FRAME_SEMITONES:
        yield Demand(Grade.POSSIBLE, "A fourth along the string takes the whole hand.")


def _stretch(grade: Grade, pair: Pair, limit_mm: float, meaning: str) -> Demand:
    names = f"{finger_name(pair.lower)} and {finger_name(pair.higher)} finger"
    reason = (
        f"The {names} stand {pair.distance_mm:.0f} mm apart,"
        f" more than the {limit_mm:.0f} mm {meaning}."
    )
    return Demand(grade, reason, Evidence(FINGER_DISTANCE, pair.distance_mm, limit_mm, "mm"))


def _of_position(
    board: Fingerboard, hand: Hand, notes: int, placed: tuple[Contact, ...]
) -> Iterator[Demand]:
    top = placed[-1]
    letter = board.string_letter(top.strings[0])
    if top.stop > SECTION_TOP_SEMITONES:
        reason = f"A stop on the {letter} string lies more than two octaves above the open string."
        evidence = Evidence("highest stop", top.stop, SECTION_TOP_SEMITONES, "semitones")
        yield Demand(Grade.HARD, reason, evidence)
    place, easy_place = _hand_place(notes, placed)
    if place.stop > easy_place:
        letter = board.string_letter(place.strings[0])
        reason = f"The hand leaves the neck: {place.stop} semitones up the {letter} string."
        yield Demand(Grade.POSSIBLE, reason)
    for contact in placed:
        low_string = max(contact.strings)
        if contact.stop > LOW_STRING_TOP_SEMITONES and low_string >= hand.high_strings:
            grade = Grade.POSSIBLE if len(placed) == 1 else Grade.HARD
            letter = board.string_letter(low_string)
            yield Demand(grade, f"The {letter} string speaks badly above its octave.")


def _hand_place(notes: int, placed: tuple[Contact, ...]) -> tuple[Contact, int]:
    """The finger that tells whether the hand is still on the neck, and how high it may be."""
    if notes > 2:
        return placed[-1], EASY_TOP_OF_CHORD_SEMITONES
    if len(placed) == 1:
        return placed[0], EASY_TOP_BESIDE_OPEN_SEMITONES
    return placed[0], EASY_HAND_PLACE_SEMITONES


def _of_fingers(placed: tuple[Contact, ...], fingers: tuple[int, ...]) -> Iterator[Demand]:
    for contact, finger in zip(placed, fingers, strict=True):
        name = finger_name(finger) if finger == THUMB else f"{finger_name(finger)} finger"
        if finger == THUMB:
            yield Demand(Grade.POSSIBLE, "The chord is held in thumb position.")
        if len(contact.strings) > 2:
            yield Demand(Grade.HARD, f"The {name} has to stop three strings at once.")
        elif len(contact.strings) == 2 and finger == 4:
            yield Demand(Grade.HARD, "The fourth finger has to stop two strings at once.")


def _of_bass(notes: int, *, is_stopped: bool) -> Iterator[Demand]:
    if notes > 2:
        grade = Grade.HARD if is_stopped else Grade.POSSIBLE
        yield Demand(grade, "Bass players are asked for two notes at once, hardly ever for more.")
    elif notes == 2 and is_stopped:
        yield Demand(Grade.POSSIBLE, "A stopped double stop on the bass speaks slowly.")
