"""The bars that ask most of whoever reads them at sight, in one sentence."""

from __future__ import annotations

from mockcheck.model.review import Review
from mockcheck.model.words import printable

_BARS_TOLD = 3


def heaviest_bars(review: Review) -> str | None:
    """'Heaviest to read: Violin 1, bar 12 (0.71: many notes, rhythm); ...'; None without bars.

    The earlier of bars that are as heavy, in the order of the score. The number is an index of this
    project, not a measured truth, and the sentence says so.
    """
    loads = [
        (-round(float(part.reading.load[row]), 3), int(part.reading.bar_index[row]), number)
        for number, part in enumerate(review.played.parts)
        if part.reading is not None
        for row in (part.reading.load > 0).nonzero()[0].tolist()
    ]
    told = []
    for _, bar, number in sorted(loads)[:_BARS_TOLD]:
        part = review.played.parts[number]
        assert part.reading is not None
        row = int(part.reading.bar_index.searchsorted(bar))
        reasons = ", ".join(part.reading.reasons(row))
        told.append(
            f"{printable(part.name)}, bar {bar + 1} ({part.reading.load[row]:.2f}: {reasons})"
        )
    if not told:
        return None
    return f"Heaviest to read, on an index from 0 to 1 that ranks bars: {'; '.join(told)}."
