"""The bend of one note as a sum of movements, and as messages.

A slide follows a logistic curve (Yang 2015). Vibrato is drawn with 4 to 8 swings a second and 20
to 70 cents from top to bottom.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from random import Random

from tests.listening.clock import Clock
from tests.listening.midi_file import BEND_CENTRE, Chunk

_STEP_S = (0.008, 0.012)


@dataclass(frozen=True)
class Glide:
    """From one bend to another, cents, along a logistic curve.

    `inflection` is where it is steepest, as a share of the time; `steepness` how much of it moves.
    """

    begin_s: float
    end_s: float
    from_cents: float
    to_cents: float
    inflection: float = 0.5
    steepness: float = 6.0

    def at(self, second: float) -> float:
        """Bend at a second; it stays at either end outside."""
        share = (second - self.begin_s) / (self.end_s - self.begin_s)
        share = min(max(share, 0.0), 1.0)
        low, here, high = (
            1 / (1 + math.exp(-self.steepness * (place - self.inflection)))
            for place in (0.0, share, 1.0)
        )
        return self.from_cents + (self.to_cents - self.from_cents) * (here - low) / (high - low)


def whole_s(heard_s: float, steepness: float) -> float:
    """How long a logistic curve takes that goes from a tenth to nine tenths of its way in a time.

    It goes from one to the other in 2 ln 9 units of its exponent.
    """
    return heard_s * steepness / (2 * math.log(9))


@dataclass(frozen=True)
class Vibrato:
    """Swings around the pitch, growing over the first two."""

    begin_s: float
    end_s: float
    rate: float
    width_cents: float

    def at(self, second: float) -> float:
        """Bend at a second, none outside."""
        if not self.begin_s <= second <= self.end_s:
            return 0.0
        since = second - self.begin_s
        grown = min(since * self.rate / 2, 1.0)
        return grown * self.width_cents / 2 * math.sin(2 * math.pi * self.rate * since)


@dataclass(frozen=True)
class Steps:
    """Small corrections of the pitch, each kept for a while."""

    begin_s: float
    end_s: float
    step_s: float
    cents: tuple[float, ...]

    def at(self, second: float) -> float:
        """Bend at a second, none outside."""
        if not self.begin_s <= second < self.end_s:
            return 0.0
        return self.cents[int((second - self.begin_s) / self.step_s) % len(self.cents)]


@dataclass
class NoteBend:
    """All movements while one note holds the bend, from its onset to the next one's."""

    begin_s: float
    until_s: float
    moves: list[Glide | Vibrato | Steps] = field(default_factory=list)
    offset_cents: float = 0.0

    def at(self, second: float) -> float:
        """Bend at a second, cents."""
        return self.offset_cents + sum(move.at(second) for move in self.moves)

    def seconds(self, rng: Random) -> Iterator[float]:
        """When messages are sent: the onset, then closely while anything moves."""
        yield self.begin_s
        for move in sorted(self.moves, key=lambda move: move.begin_s):
            second = max(move.begin_s, self.begin_s)
            while second < min(move.end_s, self.until_s - 0.002):
                yield second
                second += rng.uniform(*_STEP_S)
            if move.end_s < self.until_s:
                yield move.end_s


def bend_value(cents: float, range_semitones: int) -> int:
    """Bend as 14 bits; the wheel ends at its range."""
    steps = round(8192 * cents / (100 * range_semitones))
    return BEND_CENTRE + min(max(steps, -8192), 8191)


def draw_bends(
    chunk: Chunk, bend: NoteBend, range_semitones: int, clock: Clock, channel: int, rng: Random,
    latest: int,
) -> int:  # fmt: skip
    """Send the bend of a note where it changes; returns the last value sent."""
    for second in sorted(set(bend.seconds(rng))):
        value = bend_value(bend.at(second), range_semitones)
        if value != latest:
            chunk.bend(clock.tick_at(second), value, channel)
            latest = value
    return latest
