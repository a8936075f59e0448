"""How much each bar of a part asks of whoever reads it at sight: an index, not a truth."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.model.columns import freeze_columns

LOAD_COMPONENTS = (
    "notes",
    "rhythm",
    "accidentals",
    "ledger_lines",
    "leaps",
    "technique",
    "headroom",
)
"""What the load of a bar is made of, each a column of `ReadingLoad`."""

_REASONS = {
    "notes": "many notes",
    "rhythm": "rhythm",
    "accidentals": "accidentals",
    "ledger_lines": "ledger lines",
    "leaps": "leaps",
    "technique": "changes of technique",
    "headroom": "little or no headroom for hand and bow",
}
_LEAST_REASON = 0.1


@dataclass(frozen=True)
class ReadingLoad:
    """The bars of one part, from the first to the last in which a note begins; shape (bars,).

    Parameters
    ----------
    bar_index
        Bar, from 0, rising.
    load
        The index, 0 for a bar in which nothing begins, below 1.
    notes, rhythm, accidentals, ledger_lines, leaps, technique, headroom
        What each part of it adds, taken alone: 0 to its weight. The load is what is left when the
        rests of all to one are multiplied, so that no part outweighs the others and each counts.
    """

    bar_index: NDArray[np.int64]
    load: NDArray[np.float64]
    notes: NDArray[np.float64]
    rhythm: NDArray[np.float64]
    accidentals: NDArray[np.float64]
    ledger_lines: NDArray[np.float64]
    leaps: NDArray[np.float64]
    technique: NDArray[np.float64]
    headroom: NDArray[np.float64]

    def __post_init__(self) -> None:
        freeze_columns(self)

    def __len__(self) -> int:
        return len(self.bar_index)

    def component(self, name: str) -> NDArray[np.float64]:
        """One of LOAD_COMPONENTS, or the load itself."""
        column: NDArray[np.float64] = getattr(self, name)
        return column

    def reasons(self, row: int, most: int = 2) -> tuple[str, ...]:
        """What a row's load mostly comes from, in words, the largest first."""
        added = {name: float(self.component(name)[row]) for name in LOAD_COMPONENTS}
        told = sorted(added, key=lambda name: -added[name])[:most]
        return tuple(
            _REASONS[name]
            for rank, name in enumerate(told)
            if added[name] > (_LEAST_REASON if rank else 0)
        )
