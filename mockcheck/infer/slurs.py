"""Which notes share one bow."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.bowing import Bowing
from mockcheck.model.played import ARTICULATIONS
from mockcheck.params import Params, quantity


class SlurParams(Params):
    """What joins two notes under a slur."""

    longest_gap_s: float = quantity(
        0.03,
        unit="s",
        low=0,
        high=0.2,
        meaning="notes that are said to be slurred are, up to such a gap; players and files leave"
        " it",
    )
    touching_chance: float = quantity(
        0.5,
        unit="chance",
        low=0,
        high=1,
        meaning="where touching notes are slurs at least so likely, a touch goes on with the slur",
    )


SLURS = SlurParams()
_CONNECTED = [ARTICULATIONS.index(name) for name in ("legato", "trill")]
"""A trill is the left hand's: the bow goes on."""
_RENEWED, _TRILL = ARTICULATIONS.index("portato"), ARTICULATIONS.index("trill")


def number_slurs(
    bowing: Bowing, code: NDArray[np.int8], is_said: NDArray[np.bool_]
) -> NDArray[np.int64]:
    """One bow takes the notes that run into each other; a gap or a repeated pitch ends it.

    Parameters
    ----------
    bowing
        The onsets of one line of n notes.
    code
        Stroke of each note, index into ARTICULATIONS, shape (n,).
    is_said
        Where the stroke is said outright, shape (n,).

    Returns
    -------
    Number of the slur of each note, from 0, -1 for a bow of its own, shape (n,). Under portato the
    pitch may repeat; a change of stroke ends the slur, but a trill is none.

    Not modelled: how much one bow holds; `bow-runs-out` judges that.
    """
    lengths = bowing.lengths
    if len(lengths) == 0:
        return np.empty(0, np.int64)
    first = np.flatnonzero(np.diff(bowing.onset_of_note, prepend=-1))
    stroke, said = code[first], is_said[first]
    touches = lengths.touches & (bowing.touch_is_slur >= SLURS.touching_chance)
    is_near = lengths.gap_s - lengths.sounds_s <= SLURS.longest_gap_s
    goes_on = (lengths.overlaps | touches | (said & is_near)) & ~lengths.repeats
    connected, renewed = np.isin(stroke, _CONNECTED), stroke == _RENEWED
    joins = connected[:-1] & connected[1:] & goes_on[:-1]
    joins |= (stroke[:-1] == _TRILL) & (stroke[1:] == _TRILL)
    joins |= renewed[:-1] & renewed[1:] & (is_near | goes_on)[:-1]
    begins = np.append(True, ~joins)
    is_slur = ~begins | np.append(joins, False)
    number = np.cumsum(begins & is_slur) - 1
    return np.where(is_slur, number, -1)[bowing.onset_of_note].astype(np.int64)
