"""Short notes repeated without any difference: one key press pasted again and again."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.model.columns import stretches
from mockcheck.model.played import PlayedPart
from mockcheck.params import Params, quantity


class RepetitionParams(Params):
    """What makes two notes the same."""

    longest_gap_s: float = quantity(
        0.5,
        unit="s",
        low=0.05,
        high=5,
        meaning="from onset to onset; slower repetition is not heard as one figure",
    )
    exact_s: float = quantity(
        0.002,
        unit="s",
        low=0,
        high=0.02,
        meaning="lengths and gaps this much alike are the same: exports round by a tick",
    )
    same_loudness: float = quantity(
        2,
        unit="steps of 127",
        low=0,
        high=32,
        meaning="a controller that moves more from one note to the next makes them differ",
    )


PARAMS = RepetitionParams()


@dataclass(frozen=True)
class Repetition:
    """Onsets in a row that do not differ in anything.

    `first_notes` has the first note of each onset, index in the part; `gap_s` is the time from one
    onset to the next.
    """

    first_notes: tuple[int, ...]
    gap_s: float


def identical_repetitions(part: PlayedPart, least: int) -> Iterator[Repetition]:
    """No bow makes two strokes alike, and no hand presses a key twice in the same way.

    Parameters
    ----------
    least
        Fewest onsets in a row, three or more.

    Yields
    ------
    Rows of onsets on one track, in order of time: same pitches, velocity and length, the same gap
    from one to the next, and the same loudness where a controller draws it.
    """
    for role in part.roles:
        own = np.flatnonzero(part.track == role.index)
        _, first = np.unique(part.notes.onset_ticks[own], return_index=True)
        if len(first) < least:
            continue
        for begin, after in stretches(_goes_on(part, own, first)):
            # What goes on has two onsets before it.
            notes = own[first[begin - 2 : after]]
            if len(notes) >= least:
                gap_s = float(np.median(np.diff(part.notes.onset_s[notes])))
                yield Repetition(tuple(notes.tolist()), gap_s)


def _goes_on(
    part: PlayedPart, own: NDArray[np.int64], first: NDArray[np.int64]
) -> NDArray[np.bool_]:
    """Onsets that repeat the one before, which repeats its own, at the same distance."""
    gap_s = np.diff(part.notes.onset_s[own[first]], prepend=np.nan)
    is_again = _is_as_before(part, own, first) & (gap_s <= PARAMS.longest_gap_s)
    is_even = np.abs(np.diff(gap_s, prepend=np.nan)) <= PARAMS.exact_s
    goes_on = is_again & is_even
    goes_on[1:] &= is_again[:-1]
    return goes_on


def _is_as_before(
    part: PlayedPart, own: NDArray[np.int64], first: NDArray[np.int64]
) -> NDArray[np.bool_]:
    """Onsets whose notes are those of the onset before, one by one."""
    notes = part.notes.select(own)
    sizes = np.diff(first, append=len(own))
    size = np.repeat(sizes, sizes)
    before = np.maximum(np.arange(len(own)) - size, 0)
    is_same = (notes.pitch == notes.pitch[before]) & (notes.velocity == notes.velocity[before])
    is_same &= np.abs(notes.duration_s - notes.duration_s[before]) <= PARAMS.exact_s
    if part.loudness is not None:
        loudness = part.loudness[own]
        is_same &= np.abs(loudness - loudness[before]) <= PARAMS.same_loudness
    is_again = np.logical_and.reduceat(is_same, first)
    is_again[0] = False
    is_again[1:] &= sizes[1:] == sizes[:-1]
    return is_again
