"""Which notes one bow has to carry: a held note, or a slur without a change of bow."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.overlaps import NoteEnds, find_note_ends
from mockcheck.model.notes import Notes
from mockcheck.model.played import PlayedPart

_TOUCHING_S, _TOUCHING_SHARE = 0.03, 0.03
"""Notes touch when the gap is no longer than this, nor than this share of the time from onset to
onset; separate notes are written a tenth short (common practice, no source)."""
_CLOCK_S = 1e-6
_UNBOWED = ("pizzicato", "col legno", "spiccato", "tremolo", "trill")
"""No long bow: plucked, thrown, or a stroke whose changes of bow nobody hears."""


@dataclass(frozen=True)
class LongBow:
    """Notes under one bow of one track.

    Parameters
    ----------
    note_indices
        Notes of the part, in time order.
    onsets
        How many onsets it has; 1 for a held note or chord.
    duration_s
        From its first onset to its last sound, s.
    slurred_s
        The same without its longest note, s: on a note that is held the bow may change.
    loudness
        0-127, averaged over its length.
    is_drawn
        Every join overlaps: somebody meant a slur. False where notes only touch, and for a held
        note True.
    """

    note_indices: tuple[int, ...]
    onsets: int
    duration_s: float
    slurred_s: float
    loudness: float
    is_drawn: bool


def long_bows(part: PlayedPart, longer_than_s: float) -> list[LongBow]:
    """Every slur and held note of a part that lasts longer than this, in time order.

    The louder an unbroken line is, the sooner the bow ends; what counts is from the first onset
    under the slur to the last release, less what only overlaps into the next note. Notes that
    overlap are slurred; a row of notes that only touch may be, except beside drawn slurs and where
    a note is that long by itself: there players change bow.
    """
    bows = [bow for role in part.roles for bow in _of_track(part, role.index, longer_than_s)]
    return sorted(bows, key=lambda bow: (part.notes.onset_ticks[bow.note_indices[0]], bow.onsets))


def _of_track(part: PlayedPart, track: int, longer_than_s: float) -> Iterator[LongBow]:
    rows = np.flatnonzero((part.track == track) & ~part.articulation.is_any(*_UNBOWED))
    if not len(rows):
        return
    notes = part.notes.select(rows)
    ends = find_note_ends(notes)
    until_s = np.maximum.reduceat(ends.heard_release_s, ends.first_note)
    slurred = part.articulation.is_any("legato", "portato")[rows[ends.first_note]]
    overlaps, touches = _joins(notes, ends, until_s, slurred)
    is_long = until_s - ends.onset_s > longer_than_s
    goes_on = overlaps | (touches & ~_beside(overlaps) & ~is_long[1:] & ~is_long[:-1])
    after = np.append(ends.first_note[1:], len(rows))
    for first, last in _chains(goes_on):
        duration_s = float(until_s[first : last + 1].max() - ends.onset_s[first])
        if duration_s > longer_than_s + _CLOCK_S:
            chosen = rows[ends.first_note[first] : after[last]].tolist()
            yield LongBow(
                note_indices=tuple(chosen),
                onsets=last + 1 - first,
                duration_s=duration_s,
                slurred_s=duration_s - _longest_s(ends.onset_s[first : last + 1], duration_s),
                loudness=_loudness(part, chosen),
                is_drawn=bool(overlaps[first:last].all()),
            )


def _longest_s(onset_s: NDArray[np.float64], duration_s: float) -> float:
    """The longest note of a line, from onset to onset, the last one to its end."""
    return float(np.diff(onset_s, append=onset_s[0] + duration_s).max())


def _joins(
    notes: Notes, ends: NoteEnds, until_s: NDArray[np.float64], slurred: NDArray[np.bool_]
) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Joins from each onset to the next that overlap, and those that only touch, shape (m - 1,)."""
    last_release_s = np.maximum.reduceat(notes.release_s, ends.first_note)[:-1]
    gap_s = np.diff(ends.onset_s)
    silence_s = ends.onset_s[1:] - until_s[:-1]
    after = np.append(ends.first_note[1:], len(notes))
    chords = [
        tuple(notes.pitch[first:end].tolist())
        for first, end in zip(ends.first_note, after, strict=True)
    ]
    # The same notes again take a new stroke.
    is_new = np.array([one != two for one, two in pairwise(chords)], np.bool_)
    may_join = slurred[1:] & slurred[:-1] & is_new
    overlaps = may_join & (last_release_s > ends.onset_s[1:] + _CLOCK_S)
    is_close = (silence_s <= _TOUCHING_S) & (silence_s <= _TOUCHING_SHARE * gap_s)
    return overlaps, may_join & is_close & ~overlaps


def _beside(joins: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Joins with a drawn one just before or after: where slurs are drawn, a touch ends one."""
    padded = np.concatenate([[False], joins, [False]])
    beside: NDArray[np.bool_] = padded[:-2] | padded[2:]
    return beside


def _chains(goes_on: NDArray[np.bool_]) -> Iterator[tuple[int, int]]:
    """First and last onset of each row of joined onsets."""
    first = 0
    for last in np.flatnonzero(np.append(~goes_on, True)).tolist():
        yield first, last
        first = last + 1


def _loudness(part: PlayedPart, rows: list[int]) -> float:
    heard = part.notes.velocity if part.loudness is None else part.loudness
    lengths_s = np.maximum(part.notes.duration_s[rows], _CLOCK_S)
    return float(np.average(heard[rows].astype(np.float64), weights=lengths_s))
