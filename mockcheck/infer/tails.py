"""Where the notes of a part end for its players, over all its tracks and lines.

Each track of a part has a release of its own, which rings on while the next track has already
taken over: for the player the note is over. So it is where several lines begin notes nearly
together: what a key overlaps is the note of its own line, not the first of them all.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.onsets import TOGETHER
from mockcheck.infer.overlaps import OVERLAP, NoteEnds, find_note_ends
from mockcheck.infer.streams import STREAMS, find_streams
from mockcheck.model.notes import Notes

_CLOCK_S = 1e-6


def find_part_ends(notes: Notes, track: NDArray[np.int64]) -> NoteEnds:
    """A key that only runs into the next note of its line, or of another track, is a tail.

    Parameters
    ----------
    notes
        All notes of one part, in time order, shape (n,).
    track
        The track each note is from, shape (n,).

    Returns
    -------
    The ends as `find_note_ends` has them, and tails cut where the next note takes over; tracks
    that mostly sound together keep theirs, since they are lines of their own.

    Source: the overlaps that connect two notes, declared with overlaps and streams; common
    practice, no source.
    """
    ends = find_note_ends(notes)
    heard_s = _up_to_own_line(notes, ends)
    for own, others_s in _taking_turns(notes, track):
        taken_s = _next_onset_s(notes.onset_s[own], others_s)
        tail_s = heard_s[own] - taken_s
        is_tail = (tail_s > _CLOCK_S) & (tail_s <= STREAMS.longest_join_s)
        heard_s[own[is_tail]] = taken_s[is_tail]
    is_joined = ends.is_joined | (heard_s < ends.heard_release_s)
    return replace(ends, heard_release_s=heard_s, is_joined=is_joined)


def _up_to_own_line(notes: Notes, ends: NoteEnds) -> NDArray[np.float64]:
    """Ends without overlaps that are short for the last note of a chord, not for its first."""
    heard_s = ends.heard_release_s.copy()
    if not len(heard_s):
        return heard_s
    latest_s = np.maximum.reduceat(notes.onset_s, ends.first_note)
    # The last onset that begins before the note ends.
    onset = np.searchsorted(ends.onset_s, heard_s - _CLOCK_S, side="left") - 1
    overlap_s = heard_s - latest_s[onset]
    is_short = (onset > ends.onset_of_note) & (overlap_s <= OVERLAP.short_s + _CLOCK_S)
    is_short &= ends.onset_s[onset] - notes.onset_s >= OVERLAP.closest_s
    heard_s[is_short] = ends.onset_s[onset[is_short]]
    return heard_s


def _taking_turns(
    notes: Notes, track: NDArray[np.int64]
) -> Iterator[tuple[NDArray[np.int64], NDArray[np.float64]]]:
    """Notes of each track, and the onsets of the other tracks that it takes turns with, s."""
    rows = np.unique(track)
    if len(rows) < 2:
        return
    stream = find_streams(notes, track)
    for row in rows:
        own = np.flatnonzero(track == row)
        yield own, notes.onset_s[(track != row) & (stream == stream[own[0]])]


def _next_onset_s(
    onset_s: NDArray[np.float64], others_s: NDArray[np.float64]
) -> NDArray[np.float64]:
    """The first onset of others that is not struck together with each note."""
    begun = np.searchsorted(others_s, onset_s + TOGETHER.chord_spread_s + _CLOCK_S, side="right")
    return np.append(others_s, np.inf)[begun]
