"""How notes behave in time: what a switch changes, whatever its name.

The classes are coarse on purpose. They name no stroke; they only have to differ where strokes do.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.onsets import first_rows, group_onsets
from mockcheck.model.columns import stretches
from mockcheck.model.notes import Notes
from mockcheck.params import Params, quantity


class BehaviourParams(Params):
    """What makes notes short, connected or repeated. Common practice, no source."""

    short_share: float = quantity(
        0.65,
        unit="share of the time to the next onset",
        low=0.3,
        high=0.9,
        meaning="notes that sound for less are short",
        source="halfway between staccato 0.45 and detache 0.80, the means of the published table"
        " of strokes",
    )
    connected_share: float = quantity(
        0.97,
        unit="share of the time to the next onset",
        low=0.8,
        high=1,
        meaning="notes that sound for more touch or overlap the next",
        source="from memory",
    )
    short_longest_s: float = quantity(
        0.35, unit="s", low=0.1, high=1, meaning="longer notes before a rest are not short"
    )
    long_s: float = quantity(0.4, unit="s", low=0.1, high=2, meaning="longer notes are long")
    fast_gap_s: float = quantity(
        0.14, unit="s", low=0.05, high=0.3, meaning="from onset to onset of fast repetitions"
    )
    repeated_notes: float = quantity(
        4, unit="onsets", low=3, high=16, meaning="so many of one pitch in a row are repetition"
    )
    alternating_notes: float = quantity(
        6, unit="onsets", low=4, high=16, meaning="so many of two pitches in turn are alternation"
    )
    majority: float = quantity(
        0.6, unit="share of the notes", low=0.5, high=1, meaning="behave alike, where they do"
    )


BEHAVIOUR = BehaviourParams()
_SHARES = np.array([0.22, 0.38, 0.52, BEHAVIOUR.short_share, 0.76, 0.86, BEHAVIOUR.connected_share])
_SHORT, _CONNECTED = range(4), 7
_REPEATED, _ALTERNATING = 8, 9
CLASSES = 10
"""Eight by the share of its time that a note sounds, fast repetition, fast alternation."""
SAYS_NOTHING = -1


def hear_behaviour(notes: Notes) -> NDArray[np.int8]:
    """Length, connection and repetition are what timing shows of a way of playing.

    Parameters
    ----------
    notes
        The music of one row, in time order, shape (n,).

    Returns
    -------
    Class of each note, 0 to `CLASSES` - 1, or `SAYS_NOTHING` for one before a rest, whose written
    length is unknown; shape (n,).

    Not modelled: velocity, controllers and pitch.
    """
    if len(notes) == 0:
        return np.empty(0, np.int8)
    group = group_onsets(notes.onset_s, notes.release_s)
    first = first_rows(group)
    gap_s = np.append(np.diff(notes.onset_s[first]), np.inf)
    length_s = notes.duration_s
    share = length_s / np.maximum(gap_s[group], 1e-3)
    behaviour: NDArray[np.int8] = np.searchsorted(_SHARES, share, side="right").astype(np.int8)
    is_open = (share < BEHAVIOUR.short_share) & (length_s > BEHAVIOUR.short_longest_s)
    behaviour[is_open | ~np.isfinite(gap_s[group])] = SAYS_NOTHING
    top = np.maximum.reduceat(notes.pitch.astype(np.int64), first)
    is_fast = gap_s <= BEHAVIOUR.fast_gap_s
    behaviour[_repeats(top, is_fast)[group]] = _REPEATED
    behaviour[_alternates(top, is_fast)[group]] = _ALTERNATING
    return behaviour


def _repeats(top: NDArray[np.int64], is_fast: NDArray[np.bool_]) -> NDArray[np.bool_]:
    found = np.zeros(len(top), np.bool_)
    leads_on = np.append(np.diff(top) == 0, [False]) & is_fast
    for first, after in stretches(leads_on):
        found[first : after + 1] = after - first + 1 >= BEHAVIOUR.repeated_notes
    return found


def _alternates(top: NDArray[np.int64], is_fast: NDArray[np.bool_]) -> NDArray[np.bool_]:
    found = np.zeros(len(top), np.bool_)
    returns = np.zeros(len(top), np.bool_)
    returns[:-2] = (top[2:] == top[:-2]) & (top[1:-1] != top[:-2]) & is_fast[:-2] & is_fast[1:-1]
    for first, after in stretches(returns):
        # A row of n returns spans n + 2 onsets.
        found[first : after + 2] |= after - first + 2 >= BEHAVIOUR.alternating_notes
    return found


def describe_behaviour(
    behaviour: NDArray[np.int8], length_s: NDArray[np.float64], is_of_it: NDArray[np.bool_]
) -> str:
    """Say in plain words how the notes of a switch behave, as in 'short notes follow'.

    Parameters
    ----------
    behaviour, length_s
        Class and sounding time of all notes of the row, shape (n,).
    is_of_it
        The notes played with the switch, shape (n,).
    """
    if not is_of_it.any():
        return "no notes follow"
    known = behaviour[is_of_it & (behaviour != SAYS_NOTHING)]
    length = "long " if float(np.median(length_s[is_of_it])) >= BEHAVIOUR.long_s else ""
    said = {
        "one pitch repeated fast": known == _REPEATED,
        "two pitches in fast turn": known == _ALTERNATING,
        "short notes follow": np.isin(known, _SHORT),
        f"{length}connected notes follow": known == _CONNECTED,
        f"{length}separate notes follow": (known > _SHORT[-1]) & (known < _CONNECTED),
    }
    for words, alike in said.items():
        if len(known) and float(alike.mean()) >= BEHAVIOUR.majority:
            return words
    return "nothing tells its notes apart"
