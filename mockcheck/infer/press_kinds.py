"""What notes outside the range may be, and how likely each makes their manner.

Switches are tapped or held beside the music. Music outside the range is a slip, a passage in the
wrong octave, tones of chords, or a second voice; each is played in manners of its own.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.presses import PRESS, Manner, Presses

_OWN_SLIPS = "slips, as this part goes"
_USUAL_WEIGHT, _RAREST = 20.0, 0.01
"""So many notes of other parts count beside the notes of this one (our choice)."""
_KEEPS_LENGTH, _CHANCE_OF_A_LENGTH = 0.9, 3.0


@dataclass(frozen=True)
class Kind:
    """One thing that notes outside the range may be.

    Parameters
    ----------
    manners
        Share of each manner, in the order of `Manner`.
    sparse
        Share of presses after which the next is long in coming.
    place
        Log-odds before anybody looks how the keys are pressed: near the range, far, very far.
    is_switch
        Switches, no music.
    may_be_even
        All may have one length, whatever the music has.
    """

    manners: tuple[float, ...]
    sparse: float
    place: tuple[float, float, float]
    is_switch: bool = False
    may_be_even: bool = False


_ANYWHERE, _RARE, _MUSIC = (-6.0, 0.0, 0.0), (-7.5, -1.5, -1.5), (0.0, -1.5, -5.0)

KINDS = {
    "tapped before the notes": Kind(
        (0.11, 0.69, 0.01, 0.02, 0.03, 0.04, 0.02, 0.01, 0.07), 0.75, _ANYWHERE, True, True
    ),
    "tapped with the notes": Kind(
        (0.01, 0.01, 0.01, 0.01, 0.57, 0.23, 0.14, 0.01, 0.01), 0.75, _ANYWHERE, True, True
    ),
    "pressed well before": Kind(
        (0.04, 0.21, 0.09, 0.21, 0.01, 0.02, 0.02, 0.18, 0.22), 0.75, _RARE, True, True
    ),
    "held": Kind((0.01, 0.18, 0.68, 0.01, 0.01, 0.02, 0.02, 0.01, 0.06), 0.15, _ANYWHERE, True),
    "slips": Kind((0.54, 0.02, 0.01, 0.02, 0.01, 0.09, 0.02, 0.03, 0.26), 0.80, _MUSIC),
    "slips, as this part goes": Kind(
        (0.54, 0.02, 0.01, 0.02, 0.01, 0.09, 0.02, 0.03, 0.26), 0.80, _MUSIC
    ),
    "passages": Kind((0.92, 0.01, 0.01, 0.01, 0.01, 0.01, 0.01, 0.01, 0.01), 0.05, _MUSIC),
    "chord tones": Kind((0.01, 0.02, 0.01, 0.02, 0.01, 0.89, 0.02, 0.01, 0.01), 0.75, _MUSIC),
    "a second voice, played": Kind(
        (0.16, 0.10, 0.11, 0.27, 0.01, 0.13, 0.02, 0.07, 0.13), 0.08, _MUSIC, may_be_even=True
    ),
    "a second voice, on the grid": Kind(
        (0.14, 0.03, 0.01, 0.03, 0.04, 0.35, 0.20, 0.08, 0.12), 0.08, _MUSIC, may_be_even=True
    ),
}
"""Measured on one half of published quartets, with switches, wrong notes, passages in a wrong
octave, doublings and the cello's line put into a part by a generator, and rounded; nothing is rarer
than 1 in 100. Of switches pressed well before their notes: on the same music, pressed 0.12 to 0.4 s
before notes drawn by chance. The log-odds of the place are our choice: near the range slips are far
commoner than switches, farther out they are rare; few writers press switches well before."""


def weigh_kinds(presses: Presses, rows: NDArray[np.intp]) -> NDArray[np.float64]:
    """Each press speaks for the kinds that are usually played in its manner.

    Parameters
    ----------
    presses
        All presses outside the range.
    rows
        Those to be judged together, shape (n,).

    Returns
    -------
    Log-likelihood of each of `KINDS`, in their order, without the odds of the place.

    Source: naive Bayes; each press counts as if it were independent of the others.
    """
    counts = np.bincount(presses.manner[rows], minlength=len(Manner))
    sparse = int(presses.is_sparse[rows].sum())
    even = _weigh_even(presses, rows)
    manners = {name: np.array(kind.manners) for name, kind in KINDS.items()}
    manners[_OWN_SLIPS] = _as_in_this_part(presses.own_manners, manners[_OWN_SLIPS])
    return np.array(
        [
            counts @ np.log(manners[name])
            + sparse * np.log(kind.sparse)
            + (len(rows) - sparse) * np.log(1 - kind.sparse)
            + even * kind.may_be_even
            for name, kind in KINDS.items()
        ]
    )


def _as_in_this_part(own: NDArray[np.int64], usual: NDArray[np.float64]) -> NDArray[np.float64]:
    """Slips are notes like the others of the part, so they are played in the same manners."""
    shares = (own + _USUAL_WEIGHT * usual) / (own.sum() + _USUAL_WEIGHT)
    shares = np.maximum(shares, _RAREST)
    share: NDArray[np.float64] = shares / shares.sum()
    return share


def _weigh_even(presses: Presses, rows: NDArray[np.intp]) -> float:
    """Log-likelihood that short presses were meant to have one length, over that of the music's."""
    length_s = presses.duration_s[rows]
    middle = rows[np.argsort(length_s)[len(rows) // 2]]
    if presses.duration_s[middle] > PRESS.longest_tap_s:
        return 0.0
    ratio = length_s / presses.duration_s[middle]
    alike = (ratio <= PRESS.alike_factor) & (ratio >= 1 / PRESS.alike_factor)
    count, share = int(alike.sum()), float(presses.length_share[middle])
    weight = count * np.log(_KEEPS_LENGTH / share)
    weight += (len(rows) - count) * np.log((1 - _KEEPS_LENGTH) / (1 - share))
    # One of some twenty lengths had to be chosen.
    return max(float(weight) - _CHANCE_OF_A_LENGTH, 0.0)
