"""Every way one hand can take one event: string, stop, finger and place of the hand.

An event is a note, a double stop or a chord. Placements are columns, so that a search can
weigh thousands of them at once.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations
from typing import Any

import numpy as np
from numpy.typing import NDArray

from mockcheck.model.columns import freeze_columns
from mockcheck.playing.demands import Contact
from mockcheck.playing.fingerboard import Fingerboard
from mockcheck.playing.hand import OPEN, THUMB, WIDEST_STRETCH_SEMITONES, Hand
from mockcheck.playing.holding import contacts, string_choices

UNUSED = -1
"""A string that the event does not need."""

MOST_PLACEMENTS = 24
"""Kept for one event, the easiest first. 24 keep 99.2 % of 105,568 string and finger choices of
ten professionals on the violin (measured for this project on a published fingering set)."""

HIGHEST_HAND_PLACE_SEMITONES = 24
"""The first finger goes no further up than two octaves above the open string; an open string
leaves the hand anywhere up to there."""

EXTENSION_BACK_SEMITONES = 1
"""The first finger reaches back a semitone while the hand stays (common practice, no source)."""


FRAME_SEMITONES = 12
"""No hand covers more than an octave along one string from its first finger."""

# Comfort, in units of one string crossing; only chooses among fingerings that all can be played.
# Chosen by hand, from memory; tests/infer/test_headroom.py holds what comes out against the shares
# counted in 108,795 fingered notes of ten professionals.
HEIGHT_UNEASE = 0.03
STRETCH_UNEASE = 0.6
FOURTH_FINGER_UNEASE = 0.15
LOW_STRING_UNEASE = 0.06
LOW_STRING_EASY_TOP_SEMITONES = 8


@dataclass(frozen=True)
class Placements:
    """The placements of one event, the most comfortable first.

    Parameters
    ----------
    stop
        Semitones above the open string by string, 0 = open, UNUSED = not needed, shape
        (n, strings); string 0 is the highest.
    finger
        0 = open or unused, 1-4, thumb = -1, shape (n, strings).
    hand_mm
        Where the first finger, or the thumb in thumb position, lies from the nut, mm, shape (n,).
    is_thumb
        Whether the hand is in thumb position, shape (n,).
    is_stretched
        Whether a finger leaves its place in the hand's frame, shape (n,).
    unease
        What the placement costs in comfort, shape (n,); 0 for an open string.
    """

    stop: NDArray[np.int8]
    finger: NDArray[np.int8]
    hand_mm: NDArray[np.float64]
    is_thumb: NDArray[np.bool_]
    is_stretched: NDArray[np.bool_]
    unease: NDArray[np.float64]

    def __post_init__(self) -> None:
        freeze_columns(self)

    def __len__(self) -> int:
        return len(self.hand_mm)


_Row = tuple[tuple[int, ...], tuple[int, ...], int, bool, bool, float]
"""Stops and fingers by string, hand place in semitones, is_thumb, is_stretched, unease."""


@lru_cache(maxsize=65536)
def placements(board: Fingerboard, hand: Hand, pitches: tuple[int, ...]) -> Placements:
    """Every way to take one event, at most MOST_PLACEMENTS.

    Parameters
    ----------
    pitches
        Sounding MIDI pitches, low to high, each once.

    Returns
    -------
    Empty where one player cannot hold the notes.

    Source: states (string, finger, hand place) of a layered graph after S. Sayegh (1989), with
    reach in mm instead of position tables.
    """
    rows: list[_Row] = []
    for strings in string_choices(board, pitches):
        stops = tuple(p - board.open_strings[s] for p, s in zip(pitches, strings, strict=True))
        rows += _on_strings(board, hand, strings, stops)
    rows.sort(key=lambda row: row[5])
    rows = rows[:MOST_PLACEMENTS]
    count, width = len(rows), len(board.open_strings)
    columns: list[tuple[Any, ...]] = list(zip(*rows, strict=True)) if rows else [()] * 6
    places_mm = np.array(board.places_mm)
    return Placements(
        np.array(columns[0], np.int8).reshape(count, width),
        np.array(columns[1], np.int8).reshape(count, width),
        places_mm[np.array(columns[2], np.int64)] if count else np.empty(0),
        np.array(columns[3], np.bool_),
        np.array(columns[4], np.bool_),
        np.array(columns[5], np.float64),
    )


def _on_strings(
    board: Fingerboard, hand: Hand, strings: tuple[int, ...], stops: tuple[int, ...]
) -> list[_Row]:
    placed = contacts(strings, stops)
    width = len(board.open_strings)
    by_string = dict(zip(strings, stops, strict=True))
    stop_row = tuple(by_string.get(string, UNUSED) for string in range(width))
    if not placed:
        # An open string leaves the hand where it is: it is free, not anywhere at no cost.
        return [
            (stop_row, (OPEN,) * width, place, is_thumb, False, HEIGHT_UNEASE * place)
            for place, is_thumb in hand_places(hand)
        ]
    rows = []
    for is_thumb in (False, True) if hand.thumb is not None else (False,):
        for fingers in combinations((THUMB, 1, 2, 3) if is_thumb else hand.fingers, len(placed)):
            finger_of = {
                string: finger
                for contact, finger in zip(placed, fingers, strict=True)
                for string in contact.strings
            }
            finger_row = tuple(finger_of.get(string, OPEN) for string in range(width))
            for place in _hand_places_for(board, hand, placed, fingers, is_thumb=is_thumb):
                is_stretched = _is_stretched(board, hand, placed, fingers, place)
                unease = _unease(hand, placed, fingers, place, is_stretched=is_stretched)
                rows.append((stop_row, finger_row, place, is_thumb, is_stretched, unease))
    return rows


def hand_places(hand: Hand) -> list[tuple[int, bool]]:
    """Every place of the hand, semitones under its first finger or thumb, and the frame."""
    if hand.thumb is None:
        return [(place, False) for place in range(1, HIGHEST_HAND_PLACE_SEMITONES + 1)]
    neck = range(1, hand.thumb.fourth_finger_top_semitones - 1)
    high = range(hand.thumb.from_semitones, HIGHEST_HAND_PLACE_SEMITONES + 1)
    return [(place, False) for place in neck] + [(place, True) for place in high]


def _hand_places_for(
    board: Fingerboard,
    hand: Hand,
    placed: tuple[Contact, ...],
    fingers: tuple[int, ...],
    *,
    is_thumb: bool,
) -> Iterator[int]:
    """Places of the hand from which these fingers reach these stops."""
    if not all(_pair_fits(board, hand, *pair) for pair in _pairs(placed, fingers)):
        return
    # The pairs hold among themselves; the lowest finger says where the hand is.
    lowest, finger = placed[0].stop, fingers[0]
    for place, frame in hand_places(hand):
        if frame is not is_thumb or not lowest - FRAME_SEMITONES <= place <= lowest + 1:
            continue
        if _finger_reaches(board, hand, place, lowest, finger, is_thumb=is_thumb):
            yield place


def _finger_reaches(
    board: Fingerboard, hand: Hand, place: int, stop: int, finger: int, *, is_thumb: bool
) -> bool:
    behind = THUMB if is_thumb else 1
    if finger == behind:
        return stop == place or (not is_thumb and stop == place - EXTENSION_BACK_SEMITONES)
    # Each finger needs a place of its own: at least a semitone from the one before.
    if stop - place < hand.steps(behind, finger):
        return False
    distance_mm = board.places_mm[stop] - board.places_mm[place]
    return distance_mm <= hand.widest_reach_mm(behind, finger, is_as_in_a_tenth=False)


def _pairs(
    placed: tuple[Contact, ...], fingers: tuple[int, ...]
) -> Iterator[tuple[Contact, int, Contact, int]]:
    for (low, lower), (high, higher) in combinations(zip(placed, fingers, strict=True), 2):
        yield low, lower, high, higher


def _pair_fits(
    board: Fingerboard, hand: Hand, low: Contact, lower: int, high: Contact, higher: int
) -> bool:
    is_as_in_a_tenth = max(low.strings) >= min(high.strings)
    distance_mm = board.places_mm[high.stop] - board.places_mm[low.stop]
    widest_mm = hand.widest_reach_mm(lower, higher, is_as_in_a_tenth=is_as_in_a_tenth)
    return high.stop - low.stop <= WIDEST_STRETCH_SEMITONES and distance_mm <= widest_mm


def _is_stretched(
    board: Fingerboard,
    hand: Hand,
    placed: tuple[Contact, ...],
    fingers: tuple[int, ...],
    place: int,
) -> bool:
    """Whether any finger leaves the frame that the hand covers without opening."""
    for contact, finger in zip(placed, fingers, strict=True):
        distance_mm = board.places_mm[contact.stop] - board.places_mm[place]
        if finger == 1 and distance_mm < 0:
            return True
        behind = THUMB if fingers[0] == THUMB else 1
        if finger != behind and distance_mm > hand.comfortable_reach_mm(behind, finger):
            return True
    return False


def _unease(
    hand: Hand,
    placed: tuple[Contact, ...],
    fingers: tuple[int, ...],
    place: int,
    *,
    is_stretched: bool,
) -> float:
    high_on_low_string = sum(
        max(0, contact.stop - LOW_STRING_EASY_TOP_SEMITONES)
        for contact in placed
        if max(contact.strings) >= hand.high_strings
    )
    return (
        HEIGHT_UNEASE * place
        + STRETCH_UNEASE * is_stretched
        + FOURTH_FINGER_UNEASE * (4 in fingers)
        + LOW_STRING_UNEASE * high_on_low_string
    )
