"""Which values mean one thing: each value by itself, or all within zones of one width.

A value that returns is a choice from a list; a drawn value hardly returns. Where values wander
within zones, the notes tell where one zone ends: they behave alike within it.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import lgamma, log

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.behaviour import CLASSES, SAYS_NOTHING

WIDTHS = (1, *range(5, 43))
"""Single values, and widths of zones: nobody hits a narrower zone by hand, and wider ones than a
third of the values leave room for two meanings only (our choice)."""
_VALUES = 128
_PRIOR = 0.5
"""Of Dirichlet distributions, after Jeffreys: it leaves open which kind is the commonest."""
_MOST_NOTES = 20
"""More notes in a row say no more, for a note mostly behaves as the one before. Chosen on one half
of rendered quartets, among 4, 8, 12, 20 and no bound."""


@dataclass(frozen=True)
class Zones:
    """Zones of values, each with one meaning.

    Parameters
    ----------
    low, high
        Ends of each zone in use, both included, rising, shape (zones,).
    of_segment
        Zone of each segment, shape (segments,).
    log_odds
        How much likelier values and notes are with these zones than with values drawn at will.
    sureness
        How sure the borders are, against zones of any other width (0-1).
    """

    low: NDArray[np.int64]
    high: NDArray[np.int64]
    of_segment: NDArray[np.int64]
    log_odds: float
    sureness: float


def weigh_widths(
    value: NDArray[np.int64], behaviour: NDArray[np.int8], segment: NDArray[np.int64]
) -> NDArray[np.float64]:
    """Values that mean one thing have notes that behave in one way.

    Parameters
    ----------
    value
        In force in each segment, 0-127, shape (segments,).
    behaviour, segment
        Class of each note and the segment it lies in, shape (notes,).

    Returns
    -------
    Log-likelihood of values and notes where each value means one thing, and where zones from 0 on
    do, for each of `WIDTHS`.

    Source: marginal likelihood of a Dirichlet-multinomial model, which weighs a better fit against
    more zones (Minka 2000, Estimating a Dirichlet distribution; from memory).
    Not modelled: zones of unequal width.
    """
    counts = _count(behaviour, segment, len(value))
    return np.array([_weigh(value, counts, width) for width in WIDTHS])


def vote_for_width(weights: NDArray[np.float64]) -> NDArray[np.float64]:
    """How much one track speaks for zones of each of `WIDTHS`.

    The tracks of a file divide the values alike, as their writer learnt it once. A track whose
    values return speaks for none.
    """
    votes: NDArray[np.float64] = np.maximum(weights - weights[0], 0.0)
    return votes


def find_zones(
    value: NDArray[np.int64],
    behaviour: NDArray[np.int8],
    segment: NDArray[np.int64],
    votes: NDArray[np.float64] | None = None,
) -> Zones:
    """The likeliest zones: single values, or zones of one width from 0 on.

    Parameters
    ----------
    value, behaviour, segment
        As for `weigh_widths`.
    votes
        How much other tracks speak for zones of each width (`vote_for_width`). None where values
        stand for themselves, as programs and channels do.
    """
    counts = _count(behaviour, segment, len(value))
    at_will = _weigh_counts(counts.sum(axis=0))
    if votes is None:
        weights = np.array([_weigh(value, counts, 1)])
        at_will -= len(value) * log(_VALUES)
        votes = np.zeros(1)
    else:
        weights = weigh_widths(value, behaviour, segment)
        # A controller drawn at will keeps to some range too.
        at_will -= len(value) * log(_span(value))
    widths = WIDTHS[: len(weights)]
    # Single values agree with whatever width the others have.
    total = weights + np.append(votes.max(), votes[1:])
    best = widths[int(np.argmax(total))]
    zone, of_segment = np.unique(value // best, return_inverse=True)
    likeliness = np.exp(total - total.max())
    # Other widths that keep the same values together say the same.
    is_same = np.array([np.array_equal(_grouped(value, width), of_segment) for width in widths])
    log_odds = float(weights[widths.index(best)]) - at_will
    if is_same[0]:
        best, zone = 1, np.unique(value)
    return Zones(
        low=zone * best,
        high=np.minimum(zone * best + best, _VALUES) - 1,
        of_segment=of_segment.astype(np.int64),
        log_odds=log_odds,
        sureness=float(likeliness[is_same].sum() / likeliness.sum()),
    )


def _grouped(value: NDArray[np.int64], width: int) -> NDArray[np.intp]:
    return np.unique(value // width, return_inverse=True)[1]


def _count(
    behaviour: NDArray[np.int8], segment: NDArray[np.int64], segments: int
) -> NDArray[np.float64]:
    """Notes of each class in each segment, shape (segments, CLASSES)."""
    counts = np.zeros((segments, CLASSES))
    known = behaviour != SAYS_NOTHING
    np.add.at(counts, (segment[known], behaviour[known]), 1)
    total = counts.sum(axis=1, keepdims=True)
    counts *= np.minimum(1.0, _MOST_NOTES / np.maximum(total, 1.0))
    return counts


def _weigh(value: NDArray[np.int64], counts: NDArray[np.float64], width: int) -> float:
    """Log-likelihood of the values, in their order, and of how the notes of each zone behave."""
    zone, of_segment, thrown = np.unique(value // width, return_inverse=True, return_counts=True)
    notes = np.zeros((len(zone), CLASSES))
    np.add.at(notes, of_segment, counts)
    weight = sum(_weigh_counts(row) for row in notes)
    if width == 1:
        # Each value has to be chosen once, and then returns.
        return weight + _weigh_counts(thrown.astype(np.float64)) - len(zone) * log(_VALUES)
    available = np.zeros(-(-_VALUES // width))
    available[zone] = thrown
    # Any value within a zone, each time anew; and any width.
    weight -= len(value) * log(width) + log(len(WIDTHS) - 1)
    return weight + _weigh_counts(available)


def _span(value: NDArray[np.int64]) -> int:
    """How many values there are from the lowest to the highest in use."""
    return int(value.max() - value.min()) + 1


def _weigh_counts(counts: NDArray[np.float64]) -> float:
    kinds, total = len(counts), float(counts.sum())
    weight = lgamma(kinds * _PRIOR) - lgamma(kinds * _PRIOR + total)
    return weight + sum(lgamma(n + _PRIOR) - lgamma(_PRIOR) for n in counts[counts > 0].tolist())
