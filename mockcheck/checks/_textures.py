"""Passages of a part whose notes are all of one kind, and the rests around them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.overlaps import find_note_ends
from mockcheck.model.columns import stretches
from mockcheck.model.played import PlayedPart

_LEAST_TRAVEL = 10
"""Loudness that moves less than this, of 127, is a setting and no dynamics; from memory."""


@dataclass(frozen=True)
class Texture:
    """Consecutive onsets of one kind.

    Parameters
    ----------
    note_indices
        Notes of the part, in time order.
    lasts_s
        From the first onset to the last release, s.
    rest_before_s, rest_after_s
        Silence of the part on either side, s; infinite at its beginning and its end.
    """

    note_indices: tuple[int, ...]
    lasts_s: float
    rest_before_s: float
    rest_after_s: float


def has_dynamics(part: PlayedPart) -> bool:
    """Whether anything says how loud the part is meant: one velocity for all notes does not."""
    of_notes = part.notes.velocity if part.loudness is None else part.loudness
    curves = [of_notes, *(curve.loudness for curve in part.dynamics)]
    return any(len(curve) and float(np.ptp(curve)) >= _LEAST_TRAVEL for curve in curves)


def passages_of(
    part: PlayedPart, is_kind: NDArray[np.bool_], longest_rest_s: float
) -> list[Texture]:
    """Every row of onsets all of whose notes are of a kind, without a longer rest in it.

    Parameters
    ----------
    part
        A part that has notes.
    is_kind
        Mask of them, shape (n,).
    longest_rest_s
        A longer silence ends a passage, s.
    """
    ends = find_note_ends(part.notes)
    first = ends.first_note
    after = np.append(first[1:], len(part.notes))
    until_s = np.maximum.accumulate(np.maximum.reduceat(ends.heard_release_s, first))
    rest_s = np.concatenate([[np.inf], ends.onset_s[1:] - until_s[:-1], [np.inf]])
    kind = np.logical_and.reduceat(is_kind, first)
    found = []
    for begin, end in stretches(kind):
        cuts = np.flatnonzero(rest_s[begin + 1 : end] > longest_rest_s) + begin + 1
        for left, right in zip([begin, *cuts.tolist()], [*cuts.tolist(), end], strict=True):
            found.append(
                Texture(
                    tuple(range(int(first[left]), int(after[right - 1]))),
                    float(until_s[right - 1] - ends.onset_s[left]),
                    float(rest_s[left]),
                    float(rest_s[right]),
                )
            )
    return found
