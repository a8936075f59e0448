"""How loud one track is meant, as a step curve."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.model.columns import freeze_columns


@dataclass(frozen=True)
class DynamicsCurve:
    """How loud one track is meant over time.

    Parameters
    ----------
    track
        Review row.
    source
        What carries it: 'controller 11', 'velocity' or 'velocity and controller 7'.
    ticks, time_s
        Where each value begins, rising, shape (n,); the first is at the first onset.
    loudness
        0-127 from there on, shape (n,).
    confidence
        How sure it is that this, and not something else, carries the dynamics (0-1).
    """

    track: int
    source: str
    ticks: NDArray[np.int64]
    time_s: NDArray[np.float64]
    loudness: NDArray[np.float64]
    confidence: float

    def __post_init__(self) -> None:
        freeze_columns(self)

    @property
    def is_drawn(self) -> bool:
        """Whether a controller shapes it, so that it can move while a note is held."""
        return "controller" in self.source

    def value_at(self, time_s: NDArray[np.float64]) -> NDArray[np.float64]:
        """Loudness in force at each second; the first value holds before it too."""
        place = np.searchsorted(self.time_s, time_s, side="right") - 1
        return self.loudness[np.maximum(place, 0)]
