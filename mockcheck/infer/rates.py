"""How fast a part moves: onsets against the time a stroke needs.

A passage is judged in windows of a few notes, so that one short interval is no alarm and a
burst inside a calm bar still shows.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from mockcheck.model.columns import stretches
from mockcheck.model.played import PlayedPart

_SHORTEST_GAP_S = 1e-6
_TOGETHER_S = 0.036
_REST_S = 0.5
"""A pause this long ends a run: the hand and the arm have recovered. Common practice, no source."""


@dataclass(frozen=True)
class Strokes:
    """The onsets of one part as one player meets them.

    Parameters
    ----------
    row
        Row in the part's sonorities, shape (n,).
    note
        Index of the lowest struck note, shape (n,).
    onset_s
        Second of each onset, rising, shape (n,).
    is_repeat
        True where exactly the pitches of the onset before are struck again, shape (n,).
    """

    row: NDArray[np.int64]
    note: NDArray[np.int64]
    onset_s: NDArray[np.float64]
    is_repeat: NDArray[np.bool_]


def strokes(part: PlayedPart) -> Strokes:
    """Onset by onset what begins in a part; a chord is one onset."""
    sonorities, notes = part.sonorities, part.notes
    rows = np.flatnonzero(sonorities.struck > 0)
    if not len(rows):
        empty = np.empty(0, np.int64)
        return Strokes(rows, empty, np.empty(0), np.empty(0, np.bool_))
    member_onset_s = notes.onset_s[sonorities.members]
    newest_s = np.maximum.reduceat(member_onset_s, sonorities.first[:-1])
    is_struck = member_onset_s > np.repeat(newest_s - _TOGETHER_S, np.diff(sonorities.first))
    places = np.flatnonzero(is_struck)
    struck, first = sonorities.members[places], np.searchsorted(places, sonorities.first)
    pitches = notes.pitch[struck].tolist()
    bounds = first.tolist()
    chords = [pitches[bounds[row] : bounds[row + 1]] for row in rows.tolist()]
    return Strokes(
        row=rows,
        note=struck[first[rows]],
        onset_s=np.minimum.reduceat(notes.onset_s[struck], first[:-1])[rows],
        is_repeat=np.array([False, *(one == other for one, other in pairwise(chords))]),
    )


@dataclass(frozen=True)
class FastPassage:
    """Consecutive strokes that come faster than they can be made.

    `first` and `after` index the strokes; `notes_per_s` is the densest window's rate and
    `limit_notes_per_s` what the strokes of that window allow; their quotient is `ratio`.
    """

    first: int
    after: int
    notes_per_s: float
    limit_notes_per_s: float

    @property
    def ratio(self) -> float:
        """Time needed over time available; above 1 it cannot be played."""
        return self.notes_per_s / self.limit_notes_per_s


def fast_passages(
    onset_s: NDArray[np.float64],
    needed_s: NDArray[np.float64],
    is_counted: NDArray[np.bool_],
    window: int,
) -> list[FastPassage]:
    """Where windows of counted strokes need more time than they have.

    Parameters
    ----------
    onset_s
        Seconds, rising, shape (n,).
    needed_s
        Least time from the stroke before to each stroke, s, shape (n,); the first is unused.
    is_counted
        Strokes this question is about, shape (n,); others and rests end a run.
    window
        Strokes in a window, at least 2; runs shorter than that are never judged.
    """
    is_run = is_counted.copy()
    gap_s = np.diff(onset_s, prepend=onset_s[:1])
    passages: list[FastPassage] = []
    for first, after in _runs(is_run, gap_s):
        if after - first < window:
            continue
        span = onset_s[first + window - 1 : after] - onset_s[first : after - window + 1]
        need = np.cumsum(needed_s[first:after])
        need = need[window - 1 :] - need[: len(need) - window + 1]
        ratio = need / np.maximum(span, _SHORTEST_GAP_S)
        # The shared tolerance keeps a passage exactly on the limit playable.
        for left, right in stretches(ratio > 1 + 1e-9):
            worst = left + int(np.argmax(ratio[left:right]))
            limit = (window - 1) / need[worst]
            passages.append(
                FastPassage(
                    first + left,
                    first + right + window - 1,
                    float(ratio[worst] * limit),
                    float(limit),
                )
            )
    return passages


def _runs(is_run: NDArray[np.bool_], gap_s: NDArray[np.float64]) -> list[tuple[int, int]]:
    """Stretches of counted strokes without a rest; the stroke a run starts from belongs to it."""
    goes_on = is_run & (gap_s < _REST_S)
    goes_on[:1] = False
    return [(first - 1, after) for first, after in stretches(goes_on)]
