"""Published quartets beside what was printed: OpenScore String Quartets, CC0.

The files kept with the tests, or the folder that MOCKCHECK_QUARTETS names. Their MIDI files give
slurred notes ten ticks more, staccato notes half and others nine tenths of the printed length.
"""

from __future__ import annotations

import csv
import gzip
import os
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from mockcheck.model.score import Track
from mockcheck.read import load

FOLDER = Path(
    os.environ.get("MOCKCHECK_QUARTETS")
    or Path(__file__).parent.parent.parent / "fixtures" / "quartets"
)


@dataclass(frozen=True)
class PrintedPart:
    """One part: its track, and what was printed for each note, arrays of shape (n,)."""

    track: Track
    written_ticks: NDArray[np.int64]
    is_slurred: NDArray[np.bool_]
    is_staccato: NDArray[np.bool_]
    is_plain: NDArray[np.bool_]


def instrument_of(name: str) -> str:
    kinds = {"viola": "viola", "cello": "cello"}
    return next((kind for word, kind in kinds.items() if word in name.lower()), "violin")


def printed_parts(most_files: int | None = None) -> Iterator[PrintedPart]:
    for path in sorted(FOLDER.glob("quartet_*.mid"))[:most_files]:
        rows: dict[str, list[dict[str, str]]] = {}
        with gzip.open(path.with_suffix(".csv.gz"), "rt", encoding="utf-8") as table:
            for row in csv.DictReader(table):
                rows.setdefault(row["part"], []).append(row)
        for track in load(path).tracks:
            if not len(track.notes):
                continue
            own = rows[track.name or ""]
            assert [int(row["pitch"]) for row in own] == track.notes.pitch.tolist()
            yield PrintedPart(
                track=track,
                written_ticks=np.array([int(row["written_ticks"]) for row in own]),
                is_slurred=np.array([row["slurred_to_next"] == "1" for row in own]),
                is_staccato=np.array([row["staccato"] == "1" for row in own]),
                is_plain=np.array(
                    [
                        row["pizz_or_arco"] == "arco" and row["tremolo"] == row["trill"] == "0"
                        for row in own
                    ]
                ),
            )
