"""Where the players of a part go from one way of playing to another, and how long they have."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.overlaps import find_note_ends
from mockcheck.model.played import PlayedPart

_CLOCK_S = 1e-4
_TAIL_S = 0.15
"""A bowed note that is released so little after the next onset is only a late release."""


@dataclass(frozen=True)
class Change:
    """The last note of one way and the first of the other.

    Parameters
    ----------
    before, after
        Note indices.
    onset_gap_s
        From the last onset of the old way to the first of the new, s.
    rest_s
        The longest silence between the two, s; 0 without one.
    """

    before: int
    after: int
    onset_gap_s: float
    rest_s: float


def find_changes(
    part: PlayedPart,
    is_special: NDArray[np.bool_],
    is_known: NDArray[np.bool_],
    clashing: frozenset[int],
) -> list[Change]:
    """All tracks of a part are the same hands: their notes in one row, in order of time.

    Parameters
    ----------
    is_special
        Notes played the special way (plucked, muted), shape (n,).
    is_known
        Notes that say which way they are played, shape (n,); the others only take time.
    clashing
        Notes that sound at once with the other way; there two groups play and nobody changes.
    """
    onset_s, end_s = part.notes.onset_s, find_note_ends(part.notes).heard_release_s
    sounding_until_s = np.maximum.accumulate(end_s)
    known = np.flatnonzero(is_known)
    changes = []
    for place in np.flatnonzero(is_special[known[1:]] != is_special[known[:-1]]).tolist():
        before, after = int(known[place]), int(known[place + 1])
        if before in clashing or after in clashing:
            continue
        rests_s = onset_s[before + 1 : after + 1] - sounding_until_s[before:after]
        changes.append(
            Change(
                before,
                after,
                onset_gap_s=float(onset_s[after] - onset_s[before]),
                rest_s=max(float(rests_s.max()), 0.0),
            )
        )
    return changes


def find_clashes(
    part: PlayedPart, struck: NDArray[np.bool_], held: NDArray[np.bool_]
) -> list[tuple[int, int]]:
    """Each note of one mask that begins while a note of the other mask sounds, and that note."""
    notes = part.notes
    special, others = np.flatnonzero(struck), np.flatnonzero(held)
    if not len(special) or not len(others):
        return []
    end_s = find_note_ends(notes).heard_release_s[others]
    # A note that begins at the same time clashes, however short it is.
    goes_on_s = np.maximum(end_s - _TAIL_S, notes.onset_s[others] + 2 * _CLOCK_S)
    onset_s = notes.onset_s[special] + _CLOCK_S
    begun = np.searchsorted(notes.onset_s[others], onset_s, side="right")
    latest_s = np.maximum.accumulate(goes_on_s)
    holder = np.maximum.accumulate(np.where(goes_on_s >= latest_s, np.arange(len(others)), 0))
    return [
        (int(note), int(others[holder[count - 1]]))
        for note, second, count in zip(special, onset_s, begun, strict=True)
        if count and latest_s[count - 1] > second
    ]
