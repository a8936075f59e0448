"""What each section looks through before it plays, beside what it practises."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from mockcheck.model.played import PlayedPart
from mockcheck.plan.heavy_bars import HEAVY, HeavyBar, HeavyParams, heavy_bars
from mockcheck.plan.spots import Spot


@dataclass(frozen=True)
class PartToRead:
    """What one section looks through before it plays: its bars in order of time."""

    part: str
    bars: tuple[HeavyBar, ...]


def parts_to_read(
    parts: Iterable[PlayedPart], spots: Iterable[Spot], p: HeavyParams = HEAVY
) -> tuple[PartToRead, ...]:
    """What each section looks through beside the spots that it practises anyway.

    Nothing in these bars is too fast, so they need eyes and no click. Sections without any are
    left out.
    """
    practised: dict[str, set[int]] = defaultdict(set)
    for spot in spots:
        for practising in spot.parts:
            practised[practising.part] |= set(range(spot.first_bar_index, spot.last_bar_index + 1))
    found = (
        PartToRead(
            part.name,
            tuple(bar for bar in heavy_bars(part, p) if bar.bar_index not in practised[part.name]),
        )
        for part in parts
    )
    return tuple(row for row in found if row.bars)
