"""Which key up belongs to which key down."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.read.raw import NOTE_OFF, NOTE_ON, Messages

ALL_SOUND_OFF = 120
MODE_MESSAGES_THAT_END_NOTES = (ALL_SOUND_OFF, 123, 124, 125, 126, 127)
"""Source: MIDI 1.0 Detailed Specification 4.2, Channel Mode Messages."""

Governors = Mapping[int, tuple[int, ...]]
"""By place (port and channel): the places whose pedals and mode messages hold for its notes,
where that is not just the place itself. An MPE manager governs its members."""


@dataclass(frozen=True)
class NotePairs:
    """Rows of messages that begin and end the notes, in no musical order.

    Parameters
    ----------
    begin_rows
        Note on of each note, shape (n,).
    end_rows
        Note off or mode message that ends it, -1 where the file holds none, shape (n,).
    stray_rows
        Note offs for which no key was down.
    """

    begin_rows: NDArray[np.int64]
    end_rows: NDArray[np.int64]
    stray_rows: NDArray[np.int64]


def pair_notes(messages: Messages, governors: Governors) -> NotePairs:
    """The key struck first is released first; the standard leaves the order open.

    At one tick an off therefore closes an older note before a newer one, whatever the order of
    bytes; a mode message ends only notes that began before its tick.

    Source: MIDI 1.0 Detailed Specification 4.2, Assignment of Note On/Off Commands; first in,
    first out is our choice among the readings it allows.
    """
    rows = np.flatnonzero((messages.kind == NOTE_ON) | (messages.kind == NOTE_OFF))
    place = messages.place[rows]
    is_on = messages.is_note_on[rows]
    modes = messages.controller_rows(*MODE_MESSAGES_THAT_END_NOTES)
    modes_by_place = _modes_by_place(messages, modes, np.unique(place), governors)
    epoch = _count_modes_before(messages, rows, place, is_on, modes_by_place)

    key = (place * 128 + messages.data1[rows]) * (len(modes) + 1) + epoch
    order = np.argsort(key, kind="stable")
    group = np.cumsum(np.diff(key[order], prepend=key[order][:1]) != 0)
    on = is_on[order]
    is_stray = _find_strays(on, group)
    is_off = ~on & ~is_stray

    # The k-th on and the k-th off that counts belong together, key by key.
    begins, ends = order[on], order[is_off]
    off_count = np.bincount(group[is_off], minlength=len(order) + 1)
    has_off = _rank_in_group(group[on]) < off_count[group[on]]
    end_rows = np.full(len(begins), -1, np.int64)
    end_rows[has_off] = rows[ends]
    for at in np.flatnonzero(~has_off) if len(modes) else ():
        later = modes_by_place[int(place[begins[at]])][int(epoch[begins[at]]) :]
        end_rows[at] = later[0] if len(later) else -1
    return NotePairs(rows[begins], end_rows, rows[order[is_stray]])


def _modes_by_place(
    messages: Messages,
    modes: NDArray[np.intp],
    places: NDArray[np.int64],
    governors: Governors,
) -> dict[int, NDArray[np.intp]]:
    mode_place = messages.place[modes]
    return {
        place: modes[np.isin(mode_place, governors.get(place, (place,)))]
        for place in places.tolist()
    }


def _count_modes_before(
    messages: Messages,
    rows: NDArray[np.intp],
    place: NDArray[np.int64],
    is_on: NDArray[np.bool_],
    modes_by_place: Mapping[int, NDArray[np.intp]],
) -> NDArray[np.int64]:
    """How many mode messages have cleared the keys of its place before each note message."""
    epoch = np.zeros(len(rows), np.int64)
    for here, modes in modes_by_place.items():
        if len(modes):
            ons, offs = (place == here) & is_on, (place == here) & ~is_on
            epoch[ons] = np.searchsorted(
                messages.ticks[modes], messages.ticks[rows[ons]], side="right"
            )
            epoch[offs] = np.searchsorted(modes, rows[offs])
    return epoch


def _find_strays(on: NDArray[np.bool_], group: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Offs that find no key down: each takes the count of open keys to a new low below zero."""
    count = len(on)
    if not count:
        return np.zeros(0, np.bool_)
    balance = np.cumsum(np.where(on, 1, -1))
    first = np.diff(group, prepend=-1) != 0
    before_group = np.where(on, balance - 1, balance + 1)[first]
    balance = balance - before_group[group]
    # Each group is set so far below the one before that one running minimum serves them all.
    apart = 2 * count + 2
    low = np.minimum.accumulate(balance - group * apart) + group * apart
    low = np.minimum(low, 0)
    low_before = np.where(first, 0, np.concatenate([[0], low[:-1]]))
    is_stray: NDArray[np.bool_] = ~on & (low < low_before)
    return is_stray


def _rank_in_group(group: NDArray[np.int64]) -> NDArray[np.int64]:
    """Place of each member in its group, from 0; `group` never falls."""
    first = np.flatnonzero(np.diff(group, prepend=-1))
    sizes = np.diff(np.concatenate([first, [len(group)]]))
    return np.arange(len(group)) - np.repeat(first, sizes)
