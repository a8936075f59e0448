"""Keys that layers of one sound strike twice."""

from __future__ import annotations

import numpy as np

from mockcheck.infer.onsets import TOGETHER
from mockcheck.model.played import PlayedPart


def doubled(part: PlayedPart, note: int) -> list[int]:
    """Notes of other tracks of the part that strike the same key as a note, and with it."""
    notes = part.notes
    first, after = np.searchsorted(
        notes.onset_s,
        [
            notes.onset_s[note] - TOGETHER.chord_spread_s,
            notes.onset_s[note] + TOGETHER.chord_spread_s,
        ],
    )
    near = np.arange(first, after)
    is_same = notes.pitch[near] == notes.pitch[note]
    rows: list[int] = near[is_same & (part.track[near] != part.track[note])].tolist()
    return rows
