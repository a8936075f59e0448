"""Ticks and seconds of one piece of music."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from functools import cached_property


@dataclass(frozen=True)
class Clock:
    """A tempo map and the metres beside it.

    `tempos` are (tick, microseconds per quarter), `meters` (tick, numerator, denominator); both
    begin at tick 0.
    """

    ticks_per_quarter: int
    tempos: tuple[tuple[int, float], ...]
    meters: tuple[tuple[int, int, int], ...]

    @cached_property
    def _starts(self) -> tuple[list[int], list[float]]:
        ticks, seconds = [0], [0.0]
        for (tick, tempo), (after, _) in zip(self.tempos, self.tempos[1:], strict=False):
            ticks.append(after)
            seconds.append(seconds[-1] + (after - tick) * self._seconds_per_tick(tempo))
        return ticks, seconds

    def _seconds_per_tick(self, tempo: float) -> float:
        return tempo / 1e6 / self.ticks_per_quarter

    def second_at(self, tick: float) -> float:
        """Second of a tick."""
        ticks, seconds = self._starts
        row = max(bisect_right(ticks, tick) - 1, 0)
        return seconds[row] + (tick - ticks[row]) * self._seconds_per_tick(self.tempos[row][1])

    def tick_at(self, second: float) -> int:
        """The nearest tick to a second, none before 0."""
        ticks, seconds = self._starts
        row = max(bisect_right(seconds, second) - 1, 0)
        past = (second - seconds[row]) / self._seconds_per_tick(self.tempos[row][1])
        return max(round(ticks[row] + past), 0)

    def bar_ticks_at(self, tick: int) -> int:
        """Length of the bar that a tick lies in."""
        _, numerator, denominator = [row for row in self.meters if row[0] <= tick][-1]
        return 4 * self.ticks_per_quarter * numerator // denominator
