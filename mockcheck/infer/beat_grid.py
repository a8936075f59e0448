"""The beats that players feel, bar by bar, from tempo and metre."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mockcheck.model.time import MeterMap, Timeline
from mockcheck.model.written import BeatGrid

_QUARTER = 4
_MOST_BEATS = 100_000
"""Ten hours at two beats a second; a damaged file may claim far more."""
_LEAST_CUT = 0.02
"""A remainder of a beat shorter than this is a bar line rounded to a tick."""


def find_beats(timeline: Timeline, end_ticks: int) -> BeatGrid | None:
    """A metre says which note value is felt as one: three quavers under 6/8, else a quarter.

    Parameters
    ----------
    timeline
        Tempo and metre of the part.
    end_ticks
        Last tick that must lie in a beat.

    Returns
    -------
    Beats from the start of the file; a bar cut short by the next signature keeps whole beats and
    ends with a part of one. None where the file counts frames, or would have more beats than any
    music.

    Not modelled: beats felt in half notes or whole bars; they are written in quarters all the same.
    """
    meter = timeline.meter
    if meter is None:
        return None
    # A signature after the last note is of no use, and a damaged file may put one days later.
    pieces = max(int(np.count_nonzero(meter.ticks <= end_ticks)), 1)
    units = [_felt_beat(meter, piece)[0] for piece in range(pieces)]
    if end_ticks / min(units) > _MOST_BEATS:
        return None
    edges = np.append(meter.ticks[:pieces], max(end_ticks, int(meter.ticks[0])) + units[-1])
    starts, unit_ticks_of, cuts, compound = [], [], [], []
    for piece in range(pieces):
        unit, is_compound = _felt_beat(meter, piece)
        first, after = float(edges[piece]), float(edges[piece + 1])
        count = int(np.ceil((after - first) / unit - _LEAST_CUT))
        start = first + unit * np.arange(count)
        cut = np.ones(count)
        if piece + 1 < pieces and count:
            cut[-1] = min((after - start[-1]) / unit, 1.0)
        starts.append(start)
        unit_ticks_of.append(np.full(count, unit))
        cuts.append(cut)
        compound.append(np.full(count, is_compound))
    ticks, unit_ticks = np.concatenate(starts), np.concatenate(unit_ticks_of)
    return BeatGrid(
        ticks=ticks,
        unit_ticks=unit_ticks,
        cut=np.concatenate(cuts),
        seconds=_seconds(timeline, ticks + unit_ticks) - _seconds(timeline, ticks),
        is_compound=np.concatenate(compound),
        bar_index=meter.bar_index(np.rint(ticks).astype(np.int64)),
    )


def _felt_beat(meter: MeterMap, piece: int) -> tuple[float, bool]:
    """Length in ticks, and whether it divides by three."""
    numerator, denominator = int(meter.numerators[piece]), int(meter.denominators[piece])
    printed = float(meter.beat_ticks[piece])
    if denominator <= _QUARTER:
        return float(meter.ticks_per_quarter), False
    if numerator % 3 == 0:
        return 3 * printed, True
    # 4/8 is felt in quarters, 5/8 and 7/8 change too often and are counted in quavers.
    return (2 * printed, False) if numerator % 2 == 0 else (printed, False)


def _seconds(timeline: Timeline, ticks: NDArray[np.float64]) -> NDArray[np.float64]:
    return timeline.tempo.seconds_at(np.rint(ticks).astype(np.int64))
