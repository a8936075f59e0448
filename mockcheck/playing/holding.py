"""How one left hand can hold a chord: every way is tried, the easiest is kept."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations, pairwise, permutations

from mockcheck.model.finding import Evidence
from mockcheck.playing.demands import (
    FINGER_DISTANCE,
    Contact,
    Demand,
    Grade,
    Pair,
    demands,
)
from mockcheck.playing.fingerboard import HIGHEST_STOP_SEMITONES, Fingerboard
from mockcheck.playing.hand import (
    MOST_STRINGS_UNDER_ONE_FINGER,
    OPEN,
    THUMB,
    WIDEST_STRETCH_OF_FOUR_SEMITONES,
    WIDEST_STRETCH_SEMITONES,
    Hand,
)

_FIRST_POSITION_STOP = 2
"""The first finger's home, a whole tone above the open string."""

_HOME_WEIGHT = 0.2
"""Fingers that lie as they fall count for more than a hand at home; chooses fingerings only."""


@dataclass(frozen=True)
class Hold:
    """One way to hold a chord; tuples run with the pitches, low to high.

    Parameters
    ----------
    strings
        String of each note, 0 = highest.
    stops
        Semitones above the open string.
    fingers
        0 = open, 1-4, thumb = -1.
    stretch_mm
        Lowest to highest stopped finger along the string, mm; 0 with fewer than two.
    demands
        What makes it harder than easy; empty for an easy chord.
    """

    strings: tuple[int, ...]
    stops: tuple[int, ...]
    fingers: tuple[int, ...]
    stretch_mm: float
    demands: tuple[Demand, ...]

    @property
    def hardest(self) -> Demand | None:
        """The demand that sets the grade; None for an easy chord."""
        return max(self.demands, key=lambda demand: demand.grade, default=None)

    @property
    def grade(self) -> Grade:
        """How hard the chord is, held this way."""
        return self.hardest.grade if self.hardest is not None else Grade.EASY


@dataclass(frozen=True)
class OutOfReach:
    """Strings were found for every note, but no hand: the nearest miss."""

    evidence: Evidence
    stretch_mm: float

    @property
    def shortfall(self) -> tuple[float, float]:
        """Measured over limit, above 1, then the stretch: the nearest miss is the least."""
        return self.evidence.measured / self.evidence.limit, self.stretch_mm


def string_choices(board: Fingerboard, pitches: tuple[int, ...]) -> Iterator[tuple[int, ...]]:
    """Every way to give each pitch a string of its own, all of them neighbours under one bow."""
    count, strings = len(pitches), len(board.open_strings)
    for highest in range(strings - count + 1):
        for choice in permutations(range(highest, highest + count)):
            if all(map(board.has_on_string, choice, pitches)):
                yield choice


def find_hold(board: Fingerboard, hand: Hand, pitches: tuple[int, ...]) -> Hold | OutOfReach | None:
    """The easiest way to hold a chord, or how far the hand falls short.

    Parameters
    ----------
    pitches
        Sounding MIDI pitches, low to high, at least one.

    Returns
    -------
    None where no neighbouring strings have the notes.

    Source: a chord's fingering as constraints on the hand, D. Radicioni and V. Lombardo (2005).
    Not modelled: string spacing, fingertip width, moving the hand while a chord is broken, and
    notes of the chord played as harmonics.
    """
    best: Hold | None = None
    best_key: tuple[float, ...] = ()
    miss: OutOfReach | None = None
    for strings in string_choices(board, pitches):
        found = _easiest_fingering(board, hand, pitches, strings)
        if isinstance(found, OutOfReach):
            miss = found if miss is None else min(miss, found, key=lambda out: out.shortfall)
            continue
        # Equally hard: players stay low on the neck before they save a few millimetres.
        key = (float(found.grade), float(max(found.stops)), found.stretch_mm)
        if best is None or key < best_key:
            best, best_key = found, key
    return best or miss


def contacts(strings: tuple[int, ...], stops: tuple[int, ...]) -> tuple[Contact, ...]:
    """The fingers a chord needs, from the nut upwards.

    Two fingertips do not fit side by side on neighbouring strings: one finger stops them both.
    """
    placed: list[Contact] = []
    for stop, string in sorted(zip(stops, strings, strict=True)):
        if stop == OPEN:
            continue
        if placed and placed[-1].stop == stop and placed[-1].strings[-1] == string - 1:
            placed[-1] = Contact(stop, (*placed[-1].strings, string))
        else:
            placed.append(Contact(stop, (string,)))
    return tuple(placed)


def _easiest_fingering(
    board: Fingerboard, hand: Hand, pitches: tuple[int, ...], strings: tuple[int, ...]
) -> Hold | OutOfReach:
    stops = tuple(
        pitch - board.open_strings[string] for pitch, string in zip(pitches, strings, strict=True)
    )
    placed = contacts(strings, stops)
    stretch_mm = _distance_mm(board, placed[0], placed[-1]) if placed else 0.0
    choices = _finger_choices(hand, placed)
    refusal = _refusal(hand, len(pitches), placed, has_choice=bool(choices))
    if refusal is not None:
        return OutOfReach(refusal, stretch_mm)
    best: Hold | None = None
    best_key = (0.0, 0.0)
    miss: OutOfReach | None = None
    for fingers in choices:
        pairs = tuple(_pairs(board, hand, placed, fingers))
        worst = max(pairs, key=lambda pair: pair.strain, default=None)
        if worst is not None and worst.strain > 1.0:
            evidence = Evidence(FINGER_DISTANCE, worst.distance_mm, worst.widest_mm, "mm")
            out = OutOfReach(evidence, stretch_mm)
            miss = out if miss is None else min(miss, out, key=lambda out: out.shortfall)
            continue
        by_string = {
            string: finger
            for contact, finger in zip(placed, fingers, strict=True)
            for string in contact.strings
        }
        hold = Hold(
            strings,
            stops,
            tuple(by_string.get(string, OPEN) for string in strings),
            stretch_mm,
            tuple(demands(board, hand, pitches, strings, placed, fingers, pairs)),
        )
        key = (float(hold.grade), _unease_mm(board, hand, placed, fingers))
        if best is None or key < best_key:
            best, best_key = hold, key
    found = best or miss
    assert found is not None, "without choices the hold was refused"
    return found


def _finger_choices(hand: Hand, placed: tuple[Contact, ...]) -> tuple[tuple[int, ...], ...]:
    if not placed:
        return ((),)
    return _ascending_fingers(hand, placed[0].stop, placed[-1].stop, len(placed))


@lru_cache(maxsize=4096)
def _ascending_fingers(
    hand: Hand, lowest: int, highest: int, count: int
) -> tuple[tuple[int, ...], ...]:
    """Fingers that may stop `count` places between two stops, semitones, from the nut upwards."""
    thumb = hand.thumb
    if thumb is None:
        return tuple(combinations(hand.fingers, count))
    is_high = highest > thumb.fourth_finger_top_semitones
    choices = list(combinations((1, 2, 3) if is_high else hand.fingers, count))
    if lowest >= thumb.from_semitones:
        choices += combinations((THUMB, 1, 2, 3), count)
    return tuple(dict.fromkeys(choices))


def _refusal(
    hand: Hand, notes: int, placed: tuple[Contact, ...], *, has_choice: bool
) -> Evidence | None:
    if not placed:
        return None
    span = placed[-1].stop - placed[0].stop
    widest = WIDEST_STRETCH_OF_FOUR_SEMITONES if notes > 3 else WIDEST_STRETCH_SEMITONES
    if span > widest:
        return Evidence("stretch along the string", span, widest, "semitones")
    covered = max(len(contact.strings) for contact in placed)
    if covered > MOST_STRINGS_UNDER_ONE_FINGER:
        quantity = "strings under one finger"
        return Evidence(quantity, covered, MOST_STRINGS_UNDER_ONE_FINGER, "strings")
    if not has_choice:
        return Evidence("fingers needed", len(placed), len(hand.fingers), "fingers")
    return None


def _distance_mm(board: Fingerboard, low: Contact, high: Contact) -> float:
    return board.places_mm[high.stop] - board.places_mm[low.stop]


def _pairs(
    board: Fingerboard, hand: Hand, placed: tuple[Contact, ...], fingers: tuple[int, ...]
) -> Iterator[Pair]:
    for (low, lower), (high, higher) in combinations(zip(placed, fingers, strict=True), 2):
        # String numbers rise towards the low strings. Opening for a tenth takes the whole hand,
        # so no third finger can be down.
        is_as_in_a_tenth = len(placed) == 2 and max(low.strings) >= min(high.strings)
        yield Pair(
            lower,
            higher,
            _distance_mm(board, low, high),
            hand.comfortable_reach_mm(lower, higher),
            hand.widest_reach_mm(lower, higher, is_as_in_a_tenth=is_as_in_a_tenth),
        )


def _unease_mm(
    board: Fingerboard, hand: Hand, placed: tuple[Contact, ...], fingers: tuple[int, ...]
) -> float:
    """How far the fingers are from lying as they fall, and the hand from first position, mm."""
    if not placed:
        return 0.0
    places_mm, lowest = board.places_mm, placed[0].stop
    frame, behind, steps = hand.frame_semitones, 1, len(hand.fingers) - 1
    if fingers[0] == THUMB and hand.thumb is not None:
        frame, behind, steps = hand.thumb.frame_semitones, THUMB, len(hand.thumb.widest_mm)
    top = min(lowest + frame, HIGHEST_STOP_SEMITONES)
    step_mm = (places_mm[top] - places_mm[lowest]) / steps
    hand_mm = places_mm[lowest] - hand.steps(behind, fingers[0]) * step_mm
    unease_mm = _HOME_WEIGHT * abs(hand_mm - places_mm[_FIRST_POSITION_STOP])
    for (low, lower), (high, higher) in pairwise(zip(placed, fingers, strict=True)):
        natural_mm = hand.steps(lower, higher) * step_mm
        unease_mm += abs(_distance_mm(board, low, high) - natural_mm)
    return unease_mm
