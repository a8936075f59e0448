"""Which notes one bow has to carry: a held note, or a slur without a change of bow."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from mockcheck.infer.overlaps import NoteEnds, find_note_ends
from mockcheck.model.played import PlayedPart

_JOINED_S = 0.03
"""Slurred notes follow each other without a longer gap (common practice, no source)."""
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
    loudness
        0-127, averaged over its length.
    is_drawn
        Every join overlaps: somebody meant a slur. False where notes only touch, and for a held
        note True.
    """

    note_indices: tuple[int, ...]
    onsets: int
    duration_s: float
    loudness: float
    is_drawn: bool


def long_bows(part: PlayedPart, longer_than_s: float) -> list[LongBow]:
    """Every slur and held note of a part that lasts longer than this, in time order.

    The louder an unbroken line is, the sooner the bow ends; what counts is from the first onset
    under the slur to the last release, less what only overlaps into the next note.
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
    after = np.append(ends.first_note[1:], len(rows))
    slurred = part.articulation.is_any("legato", "portato")[rows]
    pitches = [
        tuple(notes.pitch[first:end].tolist())
        for first, end in zip(ends.first_note, after, strict=True)
    ]
    first = 0
    for onset in range(len(pitches)):
        goes_on = onset + 1 < len(pitches) and (
            slurred[ends.first_note[onset]]
            and slurred[ends.first_note[onset + 1]]
            and pitches[onset] != pitches[onset + 1]
            and until_s[onset] >= ends.onset_s[onset + 1] - _JOINED_S
        )
        if goes_on:
            continue
        duration_s = float(until_s[first : onset + 1].max() - ends.onset_s[first])
        if duration_s > longer_than_s + _CLOCK_S:
            chosen = rows[ends.first_note[first] : after[onset]]
            yield LongBow(
                note_indices=tuple(chosen.tolist()),
                onsets=onset + 1 - first,
                duration_s=duration_s,
                loudness=_loudness(part, chosen.tolist()),
                is_drawn=_is_drawn(part, ends, first, onset, rows.tolist()),
            )
        first = onset + 1


def _is_drawn(part: PlayedPart, ends: NoteEnds, first: int, last: int, rows: list[int]) -> bool:
    release_s, onset_s = part.notes.release_s, ends.onset_s
    return all(
        any(
            release_s[rows[note]] > onset_s[after] + _CLOCK_S
            for note in range(ends.first_note[before], ends.first_note[after])
        )
        for before, after in pairwise(range(first, last + 1))
    )


def _loudness(part: PlayedPart, rows: list[int]) -> float:
    heard = part.notes.velocity if part.loudness is None else part.loudness
    lengths_s = np.maximum(part.notes.duration_s[rows], _CLOCK_S)
    return float(np.average(heard[rows].astype(np.float64), weights=lengths_s))
