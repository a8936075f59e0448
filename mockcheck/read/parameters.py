"""Registered parameters: the bend range of each channel, and MPE zones."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from mockcheck.model.score import MpeZone
from mockcheck.read.raw import Messages

DEFAULT_RANGE_CENTS = 200
"""Two semitones until something else is said. Source: General MIDI System Level 1."""

MEMBER_RANGE_CENTS, MANAGER_RANGE_CENTS = 4800, 200
"""Source: MIDI Polyphonic Expression 1.0, 2.4."""

DATA_COARSE, DATA_FINE, DATA_UP, DATA_DOWN = 6, 38, 96, 97
OTHER_FINE, OTHER_COARSE, REGISTERED_FINE, REGISTERED_COARSE = 98, 99, 100, 101
_NULL = 127
_BEND_RANGE, _MPE_SETUP = (0, 0), (0, 6)
_LOWER_MANAGER, _UPPER_MANAGER = 1, 16
_MOST_MEMBERS = 15
_MOST_MEMBERS_OF_TWO_ZONES = 14

PARAMETER_CONTROLLERS = (
    DATA_COARSE,
    DATA_FINE,
    DATA_UP,
    DATA_DOWN,
    OTHER_FINE,
    OTHER_COARSE,
    REGISTERED_FINE,
    REGISTERED_COARSE,
)


@dataclass
class Parameters:
    """What the registered parameters say.

    Parameters
    ----------
    range_rows, range_cents
        By channel: rows of the messages that set the bend range, and the ranges, cents.
    zones
        By manager channel: the MPE zones that were opened.
    """

    range_rows: dict[int, list[int]] = field(default_factory=dict)
    range_cents: dict[int, list[int]] = field(default_factory=dict)
    zones: dict[int, MpeZone] = field(default_factory=dict)

    def ranges_at(self, channel: int, rows: NDArray[np.intp]) -> NDArray[np.float64]:
        """Bend range in force at each message, cents: the latest one sent before it."""
        cents = np.array([DEFAULT_RANGE_CENTS, *self.range_cents.get(channel, [])], np.float64)
        begins = np.array(self.range_rows.get(channel, []), np.int64)
        return cents[np.searchsorted(begins, rows)]

    def set_range(self, channel: int, row: int, cents: int) -> None:
        """Note that a message set the bend range of a channel."""
        ranges = self.range_cents.setdefault(channel, [])
        if ranges[-1:] != [cents]:
            ranges.append(cents)
            self.range_rows.setdefault(channel, []).append(row)


@dataclass
class _Channel:
    coarse: int = _NULL
    fine: int = _NULL
    is_registered: bool = True
    cents_in_force: int = DEFAULT_RANGE_CENTS

    def choose(self, number: int, value: int) -> None:
        self.is_registered = number in (REGISTERED_FINE, REGISTERED_COARSE)
        if number == REGISTERED_COARSE:
            self.coarse = value
        elif number == REGISTERED_FINE:
            self.fine = value

    @property
    def chosen(self) -> tuple[int, int] | None:
        return (self.coarse, self.fine) if self.is_registered else None

    def enter_range(self, number: int, value: int) -> int:
        """The bend range after one data entry, cents; a coarse value puts the fine part to 0."""
        if number == DATA_COARSE:
            return 100 * value
        if number == DATA_FINE:
            return self.cents_in_force // 100 * 100 + value
        # RP-018, from memory: a step is one cent, and 100 of them carry into the semitones.
        return max(0, self.cents_in_force + (1 if number == DATA_UP else -1))


def read_parameters(messages: Messages) -> Parameters:
    """Data entry belongs to the parameter chosen last, on each channel for itself.

    Source: MIDI 1.0 Detailed Specification 4.2, Registered and Non-Registered Parameter Numbers;
    MIDI Polyphonic Expression 1.0, 2.1 and 2.4.
    """
    rows = messages.controller_rows(*PARAMETER_CONTROLLERS)
    found = Parameters()
    members: dict[int, tuple[int, ...]] = {}
    channels = {channel: _Channel() for channel in range(1, 17)}
    for row, channel, number, value in zip(
        rows.tolist(),
        messages.channel[rows].tolist(),
        messages.data1[rows].tolist(),
        messages.data2[rows].tolist(),
        strict=True,
    ):
        state = channels[channel]
        if number >= OTHER_FINE:
            state.choose(number, value)
        elif state.chosen == _BEND_RANGE:
            cents = state.enter_range(number, value)
            if cents == state.cents_in_force and channel in found.range_rows:
                continue
            # A range sent on one member channel holds for all members of its zone.
            zone = next((zone for zone in members.values() if channel in zone), (channel,))
            for member in zone:
                found.set_range(member, row, cents)
                channels[member].cents_in_force = cents
        elif state.chosen == _MPE_SETUP and number == DATA_COARSE:
            _open_zone(found, members, row, channel, value)
            channels[channel].cents_in_force = MANAGER_RANGE_CENTS
            for member in members.get(channel, ()):
                channels[member].cents_in_force = MEMBER_RANGE_CENTS
    return found


def _open_zone(
    found: Parameters, members: dict[int, tuple[int, ...]], row: int, manager: int, count: int
) -> None:
    """The lower zone grows upwards from channel 2, the upper one downwards from channel 15."""
    if manager not in (_LOWER_MANAGER, _UPPER_MANAGER):
        return
    other = _UPPER_MANAGER if manager == _LOWER_MANAGER else _LOWER_MANAGER
    count = min(count, _MOST_MEMBERS)
    members[manager] = _member_channels(manager, count)
    if other in members:
        # The zone set up last keeps its channels, the other one shrinks.
        left = max(0, _MOST_MEMBERS_OF_TWO_ZONES - count)
        members[other] = members[other][:left]
    if count:
        name = "lower" if manager == _LOWER_MANAGER else "upper"
        found.zones[manager] = MpeZone(name, manager, members[manager])
        found.set_range(manager, row, MANAGER_RANGE_CENTS)
        for member in members[manager]:
            found.set_range(member, row, MEMBER_RANGE_CENTS)


def _member_channels(manager: int, count: int) -> tuple[int, ...]:
    step = 1 if manager == _LOWER_MANAGER else -1
    return tuple(manager + step * (number + 1) for number in range(count))
