"""Timing side by side: all sides in turn, round after round, so that a busy moment meets all."""

from __future__ import annotations

import gc
import math
import statistics
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

Run = Callable[[], object]


@dataclass(frozen=True)
class Spread:
    """A figure measured several times: the middle one, the least and the most."""

    median: float
    least: float
    most: float

    @classmethod
    def of(cls, values: Sequence[float]) -> Spread:
        """Raises ValueError where nothing was measured."""
        if not values:
            message = "nothing was measured"
            raise ValueError(message)
        return cls(statistics.median(values), min(values), max(values))


def timed_in_turn(runs: Mapping[str, Run], rounds: int) -> dict[str, list[float]]:
    """Processor seconds of each side, one figure a round; other work on the machine adds little."""
    seconds: dict[str, list[float]] = {name: [] for name in runs}
    for _ in range(rounds):
        for name, run in runs.items():
            seconds[name].append(processor_seconds(run))
    return seconds


def processor_seconds(run: Run) -> float:
    """What one call takes; objects left over from before are cleared away first."""
    gc.collect()
    begin = time.process_time()
    run()
    return time.process_time() - begin


def ratios(theirs: Sequence[float], ours: Sequence[float]) -> Spread:
    """How many times as long they take, round by round."""
    return Spread.of([a / b for a, b in zip(theirs, ours, strict=True)])


@dataclass(frozen=True)
class Growth:
    """How time grows with something: time is as its `exponent`-th power.

    Parameters
    ----------
    exponent
        1 is in step with it, 2 with its square.
    off_by
        How far the worst point lies from the fitted line, as a share.
    """

    exponent: float
    off_by: float


def fit_growth(sizes: Sequence[float], seconds: Sequence[float]) -> Growth:
    """The straight line through the logarithms, by least squares.

    Raises ValueError for fewer than three points, or where one is not above zero.
    """
    if len(sizes) < 3 or min(*sizes, *seconds) <= 0:
        message = f"no growth can be fitted to sizes {list(sizes)} and seconds {list(seconds)}"
        raise ValueError(message)
    x, y = [math.log(size) for size in sizes], [math.log(second) for second in seconds]
    slope, height = statistics.linear_regression(x, y)
    worst = max(abs(b - (height + slope * a)) for a, b in zip(x, y, strict=True))
    return Growth(slope, math.expm1(worst))
