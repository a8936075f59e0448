"""Where each note's pitch stands beside its key, and how it moves without sliding."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.model.columns import freeze_columns


@dataclass(frozen=True)
class Intonation:
    """Pitch of each note apart from its slides; every array has shape (n,).

    Parameters
    ----------
    level_cents
        Pitch above the key in the middle of the note's time.
    drift_cents
        How far the pitch wanders slowly from the begin of the note to its end; 0 where it slides.
    vibrato_hz, vibrato_cents
        Swings in a second, and their width from bottom to top; 0 where there are none.
    """

    level_cents: NDArray[np.float64]
    drift_cents: NDArray[np.float64]
    vibrato_hz: NDArray[np.float64]
    vibrato_cents: NDArray[np.float64]

    def __post_init__(self) -> None:
        freeze_columns(self)

    def __len__(self) -> int:
        return len(self.level_cents)
