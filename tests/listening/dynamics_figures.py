"""How well the loudness of each note is heard, whatever carries it."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field

import numpy as np

from tests.listening.hearing import Hearing
from tests.listening.tables import table

_NAMES = {1: "controller 1", 2: "controller 2", 11: "controller 11", None: "velocity"}
_STEP = 16
"""Two dynamics lie about so far apart: mf to f, in steps of 127."""
_FEWEST_NOTES = 20


@dataclass
class DynamicsFigures:
    """Of each track: how heard and meant loudness go together, and how far they are apart."""

    together: dict[int | None, list[float]] = field(default_factory=lambda: defaultdict(list))
    apart: dict[int | None, list[float]] = field(default_factory=lambda: defaultdict(list))

    def add(self, hearing: Hearing) -> None:
        """Count the tracks of a file."""
        for track, carrier in hearing.rendering.carriers.items():
            own = [
                (note.row.level, note.loudness)
                for note in hearing.notes
                if note.row.track == track and note.articulation is not None
            ]
            if len(own) < _FEWEST_NOTES:
                continue
            meant, heard = np.array(own).T
            is_flat = np.ptp(heard) == 0 or np.ptp(meant) == 0
            self.together[carrier].append(
                0.0 if is_flat else float(np.corrcoef(meant, heard)[0, 1])
            )
            self.apart[carrier].append(float(np.mean(np.abs(meant - heard) <= _STEP)))

    def text(self) -> str:
        """The table."""
        rows = [
            (
                _NAMES[carrier],
                len(values),
                float(np.median(values)),
                float(np.mean(self.apart[carrier])),
            )
            for carrier, values in sorted(self.together.items(), key=lambda row: str(row[0]))
        ]
        head = ("carried by", "tracks", "median correlation", "notes within one dynamic")
        return table("7. Loudness of each note", head, rows)
