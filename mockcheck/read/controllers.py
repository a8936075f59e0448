"""Controllers, bends, programs and pressure of each channel as curves."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from mockcheck.model.curves import Curve, empty_curve
from mockcheck.model.score import ChannelCurves
from mockcheck.read.parameters import Parameters
from mockcheck.read.raw import (
    BEND,
    CHANNEL_PRESSURE,
    CONTROLLER,
    KEY_PRESSURE,
    NOTE_OFF,
    NOTE_ON,
    PROGRAM,
    Messages,
)

BEND_STEPS = 8192
"""Steps from the middle to either end. Source: MIDI 1.0 Detailed Specification 4.2, Pitch Bend."""

_DEFAULTS = {7: 100.0, 8: 64.0, 10: 64.0, 11: 127.0}
"""Volume, balance, pan and expression before any value was sent. Source: RP-015 for 11; General
MIDI Developer Guidelines, from memory, for the others."""


def read_curves(
    messages: Messages, time_s: NDArray[np.float64], parameters: Parameters
) -> dict[int, ChannelCurves]:
    """Whatever a channel sends holds until it sends the same kind of message again.

    Parameters
    ----------
    messages
        One track's, in order, resets written out.
    time_s
        Second of each message, shape (n,).
    parameters
        Bend ranges found in the same messages.

    Returns
    -------
    By channel, 1..16, for every channel with any message, notes included.
    """
    parts: dict[int, dict[int, dict[int, Curve]]] = {
        channel: {} for channel in np.unique(messages.channel).tolist()
    }
    for channel, kind, number, rows in _groups(messages):
        values = _values(messages, rows, kind, channel, parameters)
        curve = Curve(messages.ticks[rows], time_s[rows], values, _default(kind, number))
        parts[channel].setdefault(kind, {})[number] = curve
    return {
        channel: ChannelCurves(
            controllers=by_kind.get(CONTROLLER, {}),
            bend_cents=by_kind.get(BEND, {}).get(0, empty_curve()),
            bend_range_assumed=channel not in parameters.range_rows,
            program=by_kind.get(PROGRAM, {}).get(0, empty_curve(-1.0)),
            channel_pressure=by_kind.get(CHANNEL_PRESSURE, {}).get(0, empty_curve()),
            key_pressure=by_kind.get(KEY_PRESSURE, {}),
        )
        for channel, by_kind in parts.items()
    }


def _groups(messages: Messages) -> Iterator[tuple[int, int, int, NDArray[np.intp]]]:
    """Channel, kind, number and rows of each curve; numbers are 0 where a kind has one curve."""
    rows = np.flatnonzero((messages.kind != NOTE_ON) & (messages.kind != NOTE_OFF))
    kind = messages.kind[rows]
    numbered = (kind == CONTROLLER) | (kind == KEY_PRESSURE)
    number = np.where(numbered, messages.data1[rows], np.uint8(0))
    # 16 bits make the stable sort a counting sort, which costs next to nothing.
    key = (messages.channel[rows].astype(np.uint16) << 11) | (kind & 7).astype(np.uint16) << 7
    key |= number
    order = np.argsort(key, kind="stable")
    starts = np.flatnonzero(np.diff(key[order], prepend=np.uint16(0)))
    for start, group in zip(starts, np.split(order, starts[1:]), strict=False):
        first = int(key[order[start]])
        yield first >> 11, 8 | first >> 7 & 7, first & 127, rows[group]


def _default(kind: int, number: int) -> float:
    if kind == PROGRAM:
        return -1.0
    return _DEFAULTS.get(number, 0.0) if kind == CONTROLLER else 0.0


def _values(
    messages: Messages,
    rows: NDArray[np.intp],
    kind: int,
    channel: int,
    parameters: Parameters,
) -> NDArray[np.float64]:
    if kind == BEND:
        steps = messages.data2[rows].astype(np.int64) * 128 + messages.data1[rows]
        return parameters.ranges_at(channel, rows) * (steps - BEND_STEPS) / BEND_STEPS
    two_bytes = kind in (CONTROLLER, KEY_PRESSURE)
    column = messages.data2 if two_bytes else messages.data1
    return column[rows].astype(np.float64)
