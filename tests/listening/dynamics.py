"""How loud the music is meant, and what carries it in the file."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from random import Random

from tests.listening.clock import Clock
from tests.listening.midi_file import Chunk
from tests.listening.truth import TrueNote

CONTROLLERS = (1, 11, 2)
_QUIETEST, _LOUDEST = 25.0, 112.0
_STEP_S = 0.06
"""Sequencers draw a value every 5 to 20 ms; these are thinner, to keep the files small."""


@dataclass(frozen=True)
class Levels:
    """Loudness over time, 1-127: straight lines between points."""

    seconds: tuple[float, ...]
    values: tuple[float, ...]

    def at(self, second: float) -> float:
        """Loudness at a second."""
        row = bisect_right(self.seconds, second)
        if row == 0 or row == len(self.seconds):
            return self.values[max(row - 1, 0)]
        begin, end = self.seconds[row - 1 : row + 1]
        share = (second - begin) / (end - begin) if end > begin else 1.0
        return self.values[row - 1] + share * (self.values[row] - self.values[row - 1])

    def mean(self, begin_s: float, end_s: float) -> float:
        """Loudness of a note that sounds from one second to another."""
        count = 8
        step = (end_s - begin_s) / count
        return sum(self.at(begin_s + (n + 0.5) * step) for n in range(count)) / count


def phrase_levels(notes: Sequence[TrueNote], clock: Clock, rng: Random) -> Levels:
    """An arch over each phrase, around a level that wanders from phrase to phrase."""
    seconds: list[float] = []
    values: list[float] = []
    base = rng.uniform(45, 85)
    for _, group in groupby(notes, key=lambda note: note.phrase):
        own = list(group)
        begin_s = clock.second_at(own[0].onset)
        end_s = clock.second_at(max(note.onset + note.length for note in own))
        base = min(max(base + rng.gauss(0, 16), 38), 92)
        peak_s = begin_s + rng.uniform(0.35, 0.75) * (end_s - begin_s)
        rise = rng.uniform(8, 22)
        for second, value in (
            (begin_s, base),
            (peak_s, base + rise),
            (end_s - 1e-3, base - rng.uniform(0, 8)),
        ):
            if seconds and second <= seconds[-1]:
                continue
            seconds.append(second)
            values.append(min(max(value, _QUIETEST), _LOUDEST))
    return Levels(tuple(seconds), tuple(values))


def draw_levels(
    chunk: Chunk, levels: Levels, controller: int, clock: Clock, channel: int, end_s: float
) -> None:
    """The curve as controller messages, one whenever its value changes."""
    latest, second = -1, 0.0
    while second <= end_s:
        value = round(levels.at(second))
        if value != latest:
            chunk.control(clock.tick_at(second), controller, value, channel)
            latest = value
        second += _STEP_S
