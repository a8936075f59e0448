"""Bars that are much to read, whether or not anything in them is too fast."""

from __future__ import annotations

from dataclasses import dataclass

from mockcheck.model.played import PlayedPart
from mockcheck.params import Params, quantity


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


def heavy_bars(part: PlayedPart, p: HeavyParams = HEAVY) -> tuple[HeavyBar, ...]:
    """Bars of a part that are much to read, in order of time; none where it has no bars."""
    reading = part.reading
    if reading is None:
        return ()
    return tuple(
        HeavyBar(int(reading.bar_index[row]), float(reading.load[row]), reading.reasons(row))
        for row in (reading.load >= p.load).nonzero()[0].tolist()
    )
