"""Which bar of the old file is which bar of the new one, heard from the music alone.

Short rows of notes that stand once in either file tie the two together; the heaviest chain of such
ties that runs forward in both is how the music goes on. What lies between two ties follows the one
before it or the one after it.

Source: Dasgupta, Papadimitriou and Vazirani, Algorithms, 2006, chapter 6 (longest increasing
subsequence); ties on rows that stand once are common practice in comparing texts, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.model.columns import freeze_columns
from mockcheck.model.played import PlayedPart, PlayedScore
from mockcheck.plan._ties import (
    Ties,
    common_share,
    heaviest_chain,
    joined_ties,
    rows_of,
    ties_between,
)

STEPS_PER_QUARTER = 48
_TOLERANCE_STEPS = (0, -1, 1, -2, 2)
"""How far a note may lie from where it is expected, nearest first: 1/24 of a quarter note."""
_SAME_PART_FROM = 0.3
"""Share of rows of notes that two parts of different names have in common, to be one renamed."""


@dataclass(frozen=True)
class PlaceMap:
    """Where places of the old file lie in the new one, both in quarter notes.

    Parameters
    ----------
    old, new
        Places that are the same, rising, shape (n,).
    shift
        Semitones the music went up at each, shape (n,).
    stretch
        New length over old length; 1 unless the note values were changed.
    """

    old: NDArray[np.float64]
    new: NDArray[np.float64]
    shift: NDArray[np.int64]
    stretch: float

    def __post_init__(self) -> None:
        freeze_columns(self)

    def neighbours(self, places: NDArray[np.float64]) -> tuple[NDArray[np.int64], ...]:
        """The tie before (or at) each place and the one after, as rows; an end stands for none."""
        after = np.searchsorted(self.old, places, side="right")
        last = len(self.old) - 1
        return np.clip(after - 1, 0, last), np.clip(after, 0, last)

    def follow(self, places: NDArray[np.float64], ties: NDArray[np.int64]) -> NDArray[np.float64]:
        """Where places lie if the music runs on evenly from some ties, shape as `places`."""
        return self.new[ties] + self.stretch * (places - self.old[ties])


@dataclass(frozen=True)
class AlignedPart:
    """One part in both files; `same_note` gives each old note's row in the new part, -1 for none.

    `is_sure` is False for the notes where bars came in or went.
    """

    old: PlayedPart
    new: PlayedPart
    same_note: NDArray[np.int64]
    is_sure: NDArray[np.bool_]


@dataclass(frozen=True)
class Alignment:
    """Two scores tied together: the parts that are the same, and the way of the whole."""

    parts: tuple[AlignedPart, ...]
    whole: PlaceMap


def align(old: PlayedScore, new: PlayedScore) -> Alignment:
    """Tie two scores together by their music.

    Bars may have come in or gone, parts may be renamed, transposed or left out, the tempo, the
    time signatures and the note values may be others. A part that was pushed against the others
    is followed on its own way. Passages that went elsewhere are not followed.

    Not modelled: two performances of one piece without a common beat.
    """
    pairs = _same_parts(old.parts, new.parts)
    own = [ties_between(*(_line(part) for part in pair)) for pair in pairs]
    whole = _map_along(heaviest_chain(joined_ties(own)))
    parts = []
    for (before, after), ties in zip(pairs, own, strict=True):
        ways = [_with_shifts(whole, ties), _map_along(heaviest_chain(ties))]
        matched = [_same_notes(before, after, way) for way in ways]
        # The way of all, unless the part's own finds more of its notes.
        same_note, is_sure = max(matched, key=lambda found: np.count_nonzero(found[0] >= 0))
        parts.append(AlignedPart(before, after, same_note, is_sure))
    return Alignment(tuple(parts), whole)


def places_of(part: PlayedPart, ticks: NDArray[np.int64]) -> NDArray[np.float64]:
    """Ticks as quarter notes; as seconds where the file counts frames."""
    meter = part.timeline.meter
    return (
        part.timeline.tempo.seconds_at(ticks) if meter is None else ticks / meter.ticks_per_quarter
    )


def _line(part: PlayedPart) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    return part.notes.pitch.astype(np.int64), places_of(part, part.notes.onset_ticks)


def _same_parts(
    old: Sequence[PlayedPart], new: Sequence[PlayedPart]
) -> list[tuple[PlayedPart, PlayedPart]]:
    """Parts of one name; then, of those left, the ones with the most music in common."""
    by_name = {part.name: part for part in new}
    pairs = [(part, by_name[part.name]) for part in old if part.name in by_name]
    names = {part.name for part, _ in pairs}
    before = [part for part in old if part.name not in names]
    after = [part for part in new if part.name not in names]
    rows_before, rows_after = ([rows_of(_line(part)) for part in side] for side in (before, after))
    shares = sorted(
        (-common_share(one, other), row, column)
        for row, one in enumerate(rows_before)
        for column, other in enumerate(rows_after)
    )
    taken: set[tuple[str, int]] = set()
    for share, row, column in shares:
        ends = {("old", row), ("new", column)}
        if -share >= _SAME_PART_FROM and not ends & taken:
            taken |= ends
            pairs.append((before[row], after[column]))
    return pairs


def _map_along(chain: Ties) -> PlaceMap:
    old, new = chain.old, chain.new
    if not len(old):
        zero = np.zeros(1)
        return PlaceMap(zero, zero.copy(), np.zeros(1, np.int64), 1.0)
    steps = np.diff(new) / np.diff(old)
    stretch = float(np.median(steps)) if len(steps) else 1.0
    return PlaceMap(old, new, chain.shift, stretch)


def _with_shifts(whole: PlaceMap, own: Ties) -> PlaceMap:
    """The way of all, with how far this part went up or down there, by its own ties on that way."""
    at = np.searchsorted(whole.old, own.old)
    on_way = at < len(whole.old)
    on_way[on_way] &= (whole.old[at[on_way]] == own.old[on_way]) & (
        np.abs(whole.new[at[on_way]] - own.new[on_way]) < 1 / STEPS_PER_QUARTER
    )
    if not on_way.any():
        return PlaceMap(whole.old, whole.new, np.zeros(len(whole.old), np.int64), whole.stretch)
    places, shift = own.old[on_way], own.shift[on_way]
    order = np.argsort(places, kind="stable")
    places, shift = places[order], shift[order]
    nearest = np.clip(np.searchsorted(places, whole.old), 0, len(places) - 1)
    before = np.maximum(nearest - 1, 0)
    is_before_nearer = np.abs(whole.old - places[before]) < np.abs(places[nearest] - whole.old)
    rows = np.where(is_before_nearer, before, nearest)
    return PlaceMap(whole.old, whole.new, shift[rows], whole.stretch)


def _same_notes(
    old: PlayedPart, new: PlayedPart, way: PlaceMap
) -> tuple[NDArray[np.int64], NDArray[np.bool_]]:
    """Each old note's row among the new ones, and whether both ties agree where it should be."""
    pitch, places = _line(old)
    before, after = way.neighbours(places)
    expected = [way.follow(places, ties) for ties in (before, after)]
    keys, rows = _note_keys(new)
    found = np.full(len(pitch), -1, np.int64)
    for offset in _TOLERANCE_STEPS if len(keys) else ():
        for place in expected:
            steps = np.rint(place * STEPS_PER_QUARTER).astype(np.int64) + offset
            for ties in (before, after):
                wanted = _key(steps, pitch + way.shift[ties])
                at = np.minimum(np.searchsorted(keys, wanted), len(keys) - 1)
                hit = (found < 0) & (keys[at] == wanted)
                found[hit] = rows[at[hit]]
    is_sure = np.abs(expected[0] - expected[1]) < 1 / STEPS_PER_QUARTER
    return found, is_sure


def _note_keys(part: PlayedPart) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    pitch, places = _line(part)
    keys = _key(np.rint(places * STEPS_PER_QUARTER).astype(np.int64), pitch)
    rows = np.argsort(keys, kind="stable")
    return keys[rows], rows


def _key(steps: NDArray[np.int64], pitch: NDArray[np.int64]) -> NDArray[np.int64]:
    # Shifted pitches run from -128 to 255, so 512 keeps them apart.
    return steps * 512 + pitch + 128
