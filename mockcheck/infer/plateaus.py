"""Where the pitch stays on a note for a moment, so that the note is heard between two slides."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.pitch_lines import PitchLine
from mockcheck.params import Params, quantity


class PlateauParams(Params):
    """How long and how near a pitch must stay to be heard as a note."""

    least_s: float = quantity(
        0.05,
        unit="s",
        low=0.01,
        high=0.2,
        meaning="a note on the way is heard when the pitch stays on it so long",
        source="from memory: a plateau of 50 ms is heard as a pitch",
    )
    near_cents: float = quantity(
        35,
        unit="cents",
        low=10,
        high=60,
        meaning="as near to the note as this; wide vibrato swings as far to either side",
        source="vibrato of violinists spans 69 cents at the 95th percentile: measured on"
        " transcribed recordings of Paganini's caprices",
    )


PLATEAU = PlateauParams()
_CLOCK_S = 1e-6


def note_plateaus(
    line: PitchLine, time_s: NDArray[np.float64], cents: NDArray[np.float64]
) -> dict[int, float]:
    """Rows in the middle of each note's plateau, with its pitch in cents.

    Parameters
    ----------
    line
        The notes and when they begin.
    time_s, cents
        The steps of its curve, shape (n,); the last one only marks the end.

    Returns
    -------
    At most one plateau for each note: the longest time near its key. An average over a swing of
    vibrato cannot show so short a plateau, and a drifting line has none.
    """
    lasts_s = np.diff(time_s)
    edges = np.searchsorted(time_s, [*(s - _CLOCK_S for s in line.begin_s[1:]), time_s[-1]])
    found = {}
    first = 0
    for home, after in zip(line.home_cents, edges.tolist(), strict=True):
        near = first + np.flatnonzero(np.abs(cents[first:after] - home) <= PLATEAU.near_cents)
        rows = _longest(near, time_s, lasts_s)
        if len(rows):
            middle_s = (time_s[rows[0]] + time_s[rows[-1] + 1]) / 2
            middle = int(rows[np.abs(time_s[rows] - middle_s).argmin()])
            found[middle] = _middle_value(cents[rows], lasts_s[rows])
        first = after
    return found


def _longest(
    rows: NDArray[np.intp], time_s: NDArray[np.float64], lasts_s: NDArray[np.float64]
) -> NDArray[np.intp]:
    """The longest run of rows, if it is long enough; wide vibrato leaves it only for moments."""
    if not len(rows):
        return rows
    cuts = np.flatnonzero(time_s[rows[1:]] - time_s[rows[:-1] + 1] > PLATEAU.least_s) + 1
    runs = np.split(rows, cuts)
    held_s = [float(lasts_s[run].sum()) for run in runs]
    longest = int(np.argmax(held_s))
    return runs[longest] if held_s[longest] >= PLATEAU.least_s - _CLOCK_S else rows[:0]


def _middle_value(cents: NDArray[np.float64], lasts_s: NDArray[np.float64]) -> float:
    """The pitch that is undercut for half of the time."""
    order = np.argsort(cents, kind="stable")
    so_far_s = np.cumsum(lasts_s[order])
    row = int(np.searchsorted(so_far_s, so_far_s[-1] / 2 - _CLOCK_S))
    return float(cents[order[row]])
