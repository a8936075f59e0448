"""Notes repeated or alternating so fast that players read a tremolo or a trill."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.note_lengths import NoteLengths
from mockcheck.model.columns import stretches
from mockcheck.params import Params, quantity


class RepetitionParams(Params):
    """How fast and how often."""

    tremolo_rate: float = quantity(
        8,
        unit="notes/s",
        low=4,
        high=16,
        meaning="one pitch repeated at least this fast is a tremolo",
        source="common practice; measured tremolo of sections 12 to 13.8, bouncing strokes of one"
        " bow each up to about 9 notes/s",
    )
    tremolo_notes: float = quantity(
        4, unit="notes", low=3, high=16, meaning="fewer repetitions are none"
    )
    trill_rate: float = quantity(
        8,
        unit="notes/s",
        low=4,
        high=16,
        meaning="two neighbours in turn at least this fast are a trill",
        source="trills of strings 8 to 16 notes/s, from memory",
    )
    trill_notes: float = quantity(
        6, unit="notes", low=4, high=16, meaning="fewer alternations are a turn"
    )
    trill_semitones: float = quantity(3, unit="semitones", low=1, high=4, meaning="widest trill")


REPETITIONS = RepetitionParams()
_RATE_TOLERANCE = 1.02


def find_tremolo(lengths: NoteLengths) -> NDArray[np.bool_]:
    """Onsets that repeat one pitch or chord fast, shape (m,)."""
    is_fast = lengths.gap_s <= _RATE_TOLERANCE / REPETITIONS.tremolo_rate
    return _rows_of(lengths.repeats & is_fast, int(REPETITIONS.tremolo_notes))


def find_trills(lengths: NoteLengths) -> NDArray[np.bool_]:
    """Onsets in which two neighbouring pitches alternate fast, shape (m,)."""
    is_single = lengths.size == 1
    step = np.abs(np.diff(lengths.lowest))
    is_step = (step >= 1) & (step <= REPETITIONS.trill_semitones)
    is_step &= is_single[1:] & is_single[:-1]
    is_step &= lengths.gap_s[:-1] <= _RATE_TOLERANCE / REPETITIONS.trill_rate
    returns = np.zeros(len(lengths), np.bool_)
    returns[:-2] = (lengths.lowest[2:] == lengths.lowest[:-2]) & is_step[:-1] & is_step[1:]
    # A row of n returns spans n + 2 notes.
    alternates = _rows_of(returns, int(REPETITIONS.trill_notes) - 1)
    alternates[1:] |= alternates[:-1].copy() & is_step
    return alternates


def _rows_of(leads_on: NDArray[np.bool_], fewest: int) -> NDArray[np.bool_]:
    """Onsets of rows of at least so many, where each leads on to the next in one way."""
    member = np.zeros(len(leads_on), np.bool_)
    for first, after in stretches(leads_on):
        if after - first + 1 >= fewest:
            member[first : after + 1] = True
    return member
