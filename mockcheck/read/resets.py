"""Reset All Controllers, written out as the messages it stands for."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mockcheck.read.raw import (
    BEND,
    CHANNEL_PRESSURE,
    CONTROLLER,
    KEY_PRESSURE,
    Messages,
    join_messages,
)

RESET_ALL_CONTROLLERS = 121
_RESET_VALUES = {1: 0, 11: 127, 64: 0, 65: 0, 66: 0, 67: 0, 98: 127, 99: 127, 100: 127, 101: 127}
"""Modulation, expression, pedals, and the chosen parameter number (127 is none). Volume, pan,
bank, program and the values of parameters such as the bend range stay. Source: RP-015."""

_BEND_MIDDLE = (0, 64)
"""Fine and coarse part of 8192. Source: MIDI 1.0 Detailed Specification 4.2, Pitch Bend Change."""


def write_out_resets(messages: Messages) -> Messages:
    """A reset sets back what was sent on its channel before, and nothing that never was.

    Returns the messages with the implied ones behind each reset, or the same table when there is
    no reset. Only what changed since the reset before is written, so the result has at most twice
    as many rows.

    Source: RP-015, Response to Reset All Controllers.
    """
    resets = messages.controller_rows(RESET_ALL_CONTROLLERS)
    if not len(resets):
        return messages
    place = messages.place
    at: list[NDArray[np.intp]] = []
    implied: list[Messages] = []
    for here in np.unique(place[resets]):
        on_place = np.flatnonzero(place == here)
        place_resets = resets[place[resets] == here]
        for sent, data1, data2 in _resettable(messages, on_place):
            before = np.searchsorted(sent, place_resets)
            rows = place_resets[np.diff(before, prepend=0) > 0]
            at.append(rows)
            implied.append(_imply(messages, rows, int(messages.kind[sent[0]]), data1, data2))
    joined = join_messages([messages, *implied])
    # A half behind its reset, and in front of the message that follows.
    rank = np.concatenate([np.arange(len(messages)), *(rows + 0.5 for rows in at)])
    return joined.select(np.argsort(rank, kind="stable"))


def _resettable(
    messages: Messages, rows: NDArray[np.intp]
) -> list[tuple[NDArray[np.intp], int, int]]:
    """Groups of messages that a reset undoes, with the data bytes that undo them."""
    kind, data1 = messages.kind[rows], messages.data1[rows]
    groups: list[tuple[NDArray[np.intp], int, int]] = []
    for number, value in _RESET_VALUES.items():
        groups.append((rows[(kind == CONTROLLER) & (data1 == number)], number, value))
    for key in np.unique(data1[kind == KEY_PRESSURE]):
        groups.append((rows[(kind == KEY_PRESSURE) & (data1 == key)], int(key), 0))
    groups.append((rows[kind == CHANNEL_PRESSURE], 0, 0))
    groups.append((rows[kind == BEND], *_BEND_MIDDLE))
    return [group for group in groups if len(group[0])]


def _imply(
    messages: Messages, rows: NDArray[np.intp], kind: int, data1: int, data2: int
) -> Messages:
    resets = messages.select(rows)
    return Messages(
        resets.ticks,
        np.full(len(rows), kind, np.uint8),
        resets.channel,
        resets.port,
        np.full(len(rows), data1, np.uint8),
        np.full(len(rows), data2, np.uint8),
        resets.event_index,
        resets.byte_offset,
    )
