"""Bars that are much to read, whether or not anything in them is too fast."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from mockcheck.model.played import PlayedPart
from mockcheck.params import Params, quantity

if TYPE_CHECKING:
    from mockcheck.plan.spots import Spot


class HeavyParams(Params):
    """What is much to read."""

    load: float = quantity(
        0.6,
        unit="reading load, 0 to 1",
        low=0.05,
        high=1,
        meaning="a bar as heavy as this is worth a look before it is played",
        source="2 bars of 100 in five published quartets are heavier; in five others, 3",
    )


HEAVY = HeavyParams()


@dataclass(frozen=True)
class HeavyBar:
    """A bar that is much to read; `bar_index` from 0, `load` from 0 to 1."""

    bar_index: int
    load: float
    reasons: tuple[str, ...]


@dataclass(frozen=True)
class PartToRead:
    """What one section looks through before it plays: its bars in order of time."""

    part: str
    bars: tuple[HeavyBar, ...]


def heavy_bars(part: PlayedPart, p: HeavyParams = HEAVY) -> tuple[HeavyBar, ...]:
    """Bars of a part that are much to read, in order of time; none where it has no bars."""
    reading = part.reading
    if reading is None:
        return ()
    return tuple(
        HeavyBar(int(reading.bar_index[row]), float(reading.load[row]), reading.reasons(row))
        for row in (reading.load >= p.load).nonzero()[0].tolist()
    )


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
