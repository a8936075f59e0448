"""Controller, bend and program histories as step curves."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.model.columns import freeze_columns


@dataclass(frozen=True)
class Curve:
    """A value that holds until the next one.

    Parameters
    ----------
    ticks, time_s
        When each value was sent, never falling, shape (n,).
    values
        The values, shape (n,), in the unit the owner states.
    default
        What holds before the first value.
    """

    ticks: NDArray[np.int64]
    time_s: NDArray[np.float64]
    values: NDArray[np.float64]
    default: float = 0.0

    def __post_init__(self) -> None:
        freeze_columns(self)

    def __len__(self) -> int:
        return len(self.ticks)

    def value_at(self, time_s: NDArray[np.float64]) -> NDArray[np.float64]:
        """Value in force at each second; a value sent at that very moment counts."""
        return self._at(np.searchsorted(self.time_s, time_s, side="right"))

    def value_at_ticks(self, ticks: NDArray[np.int64]) -> NDArray[np.float64]:
        """Value in force at each tick; a value sent at that very tick counts."""
        return self._at(np.searchsorted(self.ticks, ticks, side="right"))

    def _at(self, after: NDArray[np.intp]) -> NDArray[np.float64]:
        return np.concatenate([[self.default], self.values])[after]


def empty_curve(default: float = 0.0) -> Curve:
    """Nothing was ever sent."""
    return Curve(np.empty(0, np.int64), np.empty(0), np.empty(0), default)
