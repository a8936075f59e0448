"""A bend curve without its vibrato: the average over one swing."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from mockcheck.model.curves import Curve
from mockcheck.params import Params, quantity


class VibratoParams(Params):
    """How players shake a note."""

    period_s: float = quantity(
        1 / 6,
        unit="s",
        low=0.1,
        high=0.3,
        meaning="averaging over it takes vibrato out",
        source="vibrato of string players 4 to 7.5 Hz, median 6.5: measured on the same recordings",
    )

    def height(self, middle_deviation: float) -> float:
        """Cents from the middle of a swing to its top, from its middle deviation.

        A sine spends half of its time beyond its height over the root of two.
        """
        return middle_deviation * math.sqrt(2)

    def fastest(self, middle_deviation: float) -> float:
        """Cents per second of a swing where it is fastest, from its middle deviation in cents."""
        return self.height(middle_deviation) * 2 * math.pi / self.period_s


VIBRATO = VibratoParams()
_CLOCK_S = 1e-6


class SmoothCurve:
    """The curve averaged over a vibrato period, narrower near the ends of a span."""

    def __init__(self, bend: Curve) -> None:
        self.curve = bend
        before = np.concatenate([[bend.default], bend.values[:-1]])
        # Time enters from the first event on; the integral of a step curve is piecewise straight.
        area = np.cumsum(before * np.diff(bend.time_s, prepend=bend.time_s[0]))
        self.area = np.concatenate([[area[0] - bend.default], area, [area[-1] + bend.values[-1]]])
        self.knots_s = np.concatenate([[bend.time_s[0] - 1], bend.time_s, [bend.time_s[-1] + 1]])
        self.ends = (bend.default, float(bend.values[-1]))

    def at(
        self,
        time_s: NDArray[np.float64],
        begin_s: NDArray[np.float64] | float,
        until_s: NDArray[np.float64] | float,
        here: NDArray[np.float64],
    ) -> NDArray[np.float64]:
        """Average around each second; `here` is the curve itself, for the very ends."""
        half = np.minimum(time_s - begin_s, until_s - time_s)
        half = np.clip(half, 0.0, VIBRATO.period_s / 2)
        is_end = half < _CLOCK_S
        width = np.where(is_end, 1.0, 2 * half)
        mean = (self._area(time_s + half) - self._area(time_s - half)) / width
        return np.where(is_end, here, mean)

    def _area(self, time_s: NDArray[np.float64]) -> NDArray[np.float64]:
        inside = np.interp(time_s, self.knots_s, self.area)
        early = np.minimum(time_s - self.knots_s[0], 0.0) * self.ends[0]
        late = np.maximum(time_s - self.knots_s[-1], 0.0) * self.ends[1]
        area: NDArray[np.float64] = inside + early + late
        return area
