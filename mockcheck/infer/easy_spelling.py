"""The spelling of a fast figure that a player takes in at a glance.

In fast notes the hand follows the picture: a plain second or third is read as a shape, an augmented
second has to be worked out. So within a bar each foreign note is written the one way, sharp or
flat, that leaves the fewest such steps; where it makes no difference, the more likely way stays.

Source: E. Gould, Behind Bars (2011), and two composers' weblogs (reading rules on augmented steps,
one kind of accidental and one letter a step); the weights are from memory.
Not modelled: the harmony; what suits the ear of one who knows the key may be spelled otherwise.
"""

from __future__ import annotations

from itertools import product

import numpy as np
from numpy.typing import NDArray

from mockcheck.model.spelled import (
    CHROMATIC_SEMITONE_FIFTHS,
    accidentals_of,
)

WIDEST_STEP_SEMITONES = 5
"""Steps up to a fourth are read as shapes; wider ones are leaps, which are read as notes."""
_AWKWARD, _CHROMATIC, _DOUBLE, _RARE, _MIXED, _CHANGED = 2.0, 1.0, 2.0, 0.5, 0.5, 0.25
_LEAST_GAIN = 1.0
"""A spelling is given up for another only where that saves more than a chromatic semitone costs."""
_RARE_FIFTHS = (11, 12, -7, -8)
"""E sharp, B sharp, C flat and F flat, outside the keys that have them."""
_MOST_FOREIGN = 6


def awkward_steps(pitch: NDArray[np.int64], fifths: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Steps written augmented or diminished where a plain second, third or fourth sounds.

    Parameters
    ----------
    pitch, fifths
        MIDI pitches and places on the line of fifths of a line, shape (n,).

    Returns
    -------
    Mask of the n - 1 steps. Chromatic semitones (C to C sharp) and tritones are not among them.
    """
    far = np.abs(np.diff(fifths)) > CHROMATIC_SEMITONE_FIFTHS
    is_awkward: NDArray[np.bool_] = far & (np.abs(np.diff(pitch)) <= WIDEST_STEP_SEMITONES)
    return is_awkward


def easiest_spelling(
    pitch: NDArray[np.int64], fifths: NDArray[np.int64], key_fifths: int
) -> NDArray[np.int64]:
    """The figure as it reads most easily.

    Parameters
    ----------
    pitch, fifths
        A figure within a bar, and how it would be spelled by the music around, shape (n,).
    key_fifths
        Its key signature: the notes of that stay.

    Returns
    -------
    Places on the line of fifths, shape (n,).
    """
    if not awkward_steps(pitch, fifths).any():
        return fifths
    foreign = [place for place in np.unique(fifths).tolist() if not -1 <= place - key_fifths <= 5]
    if not 0 < len(foreign) <= _MOST_FOREIGN:
        return fifths
    best, least = fifths, reading_cost(pitch, fifths, key_fifths) - _LEAST_GAIN
    for ways in product((0, -12, 12), repeat=len(foreign)):
        tried = fifths.copy()
        for place, way in zip(foreign, ways, strict=True):
            tried[fifths == place] += way
        changed = sum(way != 0 for way in ways)
        cost = reading_cost(pitch, tried, key_fifths) + _CHANGED * changed
        if cost <= least:
            best, least = tried, cost - 1e-9
    return best


def reading_cost(pitch: NDArray[np.int64], fifths: NDArray[np.int64], key_fifths: int) -> float:
    """What a figure costs the reader; an awkward step is 2, a chromatic semitone 1."""
    away = np.abs(np.diff(fifths))
    places = np.unique(fifths)
    foreign = places[(places - key_fifths < -1) | (places - key_fifths > 5)]
    signs = accidentals_of(foreign)
    return (
        _AWKWARD * int(awkward_steps(pitch, fifths).sum())
        + _CHROMATIC * int((away == CHROMATIC_SEMITONE_FIFTHS).sum())
        + _DOUBLE * int((np.abs(signs) > 1).sum())
        + _RARE * int(np.isin(foreign, _RARE_FIFTHS).sum())
        + _MIXED * bool((signs > 0).any() and (signs < 0).any())
    )
