"""What one part must sound at each onset: the notes struck and the notes still held."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.overlaps import NoteEnds, find_note_ends
from mockcheck.model.notes import Notes
from mockcheck.model.played import Sonorities

MOST_MEMBERS = 64
"""Far above any divided section; keeps files with hundreds of hanging notes in bounds."""

_CLOCK_S = 1e-6


def find_sonorities(notes: Notes, ends: NoteEnds | None = None) -> Sonorities:
    """A hand has to hold what is struck now and what was struck before and still sounds.

    Parameters
    ----------
    notes
        All notes of one part, in time order, shape (n,).
    ends
        Where they end for the player; None takes them for the notes of one track.

    Returns
    -------
    One row for each onset. A pitch that sounds twice is one member, the newer note; more than
    `MOST_MEMBERS` keep the newest ones.

    Not modelled: pedals (a string stops with its bow), and which player of a section takes which
    note.
    """
    if len(notes) == 0:
        return Sonorities(np.zeros(1, np.int64), np.empty(0, np.int64), np.empty(0, np.int64))
    ends = find_note_ends(notes) if ends is None else ends
    last = _last_onset(ends)
    member_of, member = _members(ends, last)
    member_of, member = _without_doubles(notes, ends, member_of, member)
    counts = np.bincount(member_of, minlength=len(ends.onset_s))
    is_struck = ends.onset_of_note[member] == member_of
    return Sonorities(
        first=np.concatenate([[0], np.cumsum(counts)]).astype(np.int64),
        members=member,
        struck=np.bincount(member_of[is_struck], minlength=len(counts)).astype(np.int64),
    )


def _last_onset(ends: NoteEnds) -> NDArray[np.int64]:
    """The last onset at which each note still has to sound."""
    begun = np.searchsorted(ends.onset_s, ends.heard_release_s - _CLOCK_S, side="left")
    return np.maximum(begun - 1, ends.onset_of_note).astype(np.int64)


def _members(
    ends: NoteEnds, last: NDArray[np.int64]
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Every (onset, note) pair that sounds, notes in order of their onset."""
    group = ends.onset_of_note
    first_onset = group.copy()
    if _most_at_once(group, last) > MOST_MEMBERS:
        # Only the newest notes can be members: each leaves when that many later ones have begun.
        pushed_out = np.arange(len(group)) + MOST_MEMBERS
        last = np.minimum(
            last, np.append(group, len(ends.onset_s))[np.minimum(pushed_out, len(group))] - 1
        )
        first_onset[last < first_onset] = -1
    lengths = np.where(first_onset >= 0, last - group + 1, 0)
    member = np.repeat(np.arange(len(group)), lengths)
    steps = np.arange(len(member)) - np.repeat(np.cumsum(lengths) - lengths, lengths)
    return group[member] + steps, member


def _most_at_once(group: NDArray[np.int64], last: NDArray[np.int64]) -> int:
    count = int(group[-1]) + 2
    change = np.bincount(group, minlength=count) - np.bincount(last + 1, minlength=count)
    return int(np.cumsum(change).max())


def _without_doubles(
    notes: Notes, ends: NoteEnds, member_of: NDArray[np.int64], member: NDArray[np.int64]
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Pairs by onset and pitch; of notes of one pitch the newest, and of those the longest."""
    heard = ends.heard_release_s[member]
    order = np.lexsort((-heard, -ends.onset_of_note[member], notes.pitch[member], member_of))
    member_of, member = member_of[order], member[order]
    is_first = np.diff(member_of, prepend=-1) != 0
    is_first[1:] |= notes.pitch[member[1:]] != notes.pitch[member[:-1]]
    return member_of[is_first], member[is_first]
