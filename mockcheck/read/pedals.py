"""How long a note sounds behind its key up, while a pedal holds it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mockcheck.read.pairing import ALL_SOUND_OFF, Governors, NotePairs
from mockcheck.read.raw import Messages

SUSTAIN, SOSTENUTO = 64, 66
_DOWN = 64
"""From this value on a switch is on. Source: MIDI 1.0 Detailed Specification 4.2, Table III."""


def find_sound_ends(
    messages: Messages,
    pairs: NotePairs,
    release_ticks: NDArray[np.int64],
    end_ticks: int,
    governors: Governors,
) -> NDArray[np.int64]:
    """A sustain pedal holds every note; a sostenuto pedal those whose keys are down when it falls.

    Parameters
    ----------
    pairs
        Notes, with the messages that end them.
    release_ticks
        Key up of each note, shape (n,).
    end_ticks
        Where a pedal that never comes up lets go.

    Returns
    -------
    Tick at which each note stops sounding, shape (n,), never before its release.

    Source: MIDI 1.0 Detailed Specification 4.2, Controllers 64 and 66, and All Sound Off.
    Not modelled: half pedal, and a sustain pedal that takes over from a sostenuto pedal.
    """
    ends = release_ticks.copy()
    pedals = messages.controller_rows(SUSTAIN, SOSTENUTO)
    if not len(pedals):
        return ends
    place = messages.place
    # A hanging note has no release message; it is released behind the last one.
    release_rows = np.where(pairs.end_rows < 0, len(messages), pairs.end_rows)
    silences = messages.controller_rows(ALL_SOUND_OFF)
    note_place = place[pairs.begin_rows]
    for here in np.unique(note_place).tolist():
        notes = np.flatnonzero(note_place == here)
        obeyed = np.isin(place[pedals], governors.get(here, (here,)))
        begins, released = pairs.begin_rows[notes], release_rows[notes]
        up_rows = [
            _hold(messages, pedals[obeyed], number, begins, released)
            for number in (SUSTAIN, SOSTENUTO)
        ]
        until = np.maximum(*up_rows)
        held = until >= 0
        stops = silences[np.isin(place[silences], governors.get(here, (here,)))]
        stops = np.append(stops, len(messages))
        until = np.minimum(until, stops[np.searchsorted(stops, released)])
        tick = np.append(messages.ticks, end_ticks)[until]
        ends[notes] = np.where(held, np.maximum(ends[notes], tick), ends[notes])
    return ends


def _hold(
    messages: Messages,
    pedals: NDArray[np.intp],
    number: int,
    begin_rows: NDArray[np.int64],
    release_rows: NDArray[np.int64],
) -> NDArray[np.int64]:
    """Row at which the pedal lets go of each note, -1 where it does not hold it."""
    rows = pedals[messages.data1[pedals] == number]
    is_down = messages.data2[rows] >= _DOWN
    is_change = np.diff(is_down, prepend=False)
    rows, is_down = rows[is_change], is_down[is_change]
    # Changes alternate from here on: down, up, down, ...
    latest = np.searchsorted(rows, release_rows) - 1
    ups = np.append(rows, len(messages))
    holds = (latest >= 0) & np.append(is_down, False)[latest]
    if number == SOSTENUTO:
        holds &= begin_rows < ups[latest]
    return np.where(holds, ups[latest + 1], -1)
