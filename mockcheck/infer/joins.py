"""The joins of a part that could carry a slide: what slides are counted against."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mockcheck.model.instrument import Instrument
from mockcheck.model.played import PlayedPart
from mockcheck.playing.fingerboard import HIGHEST_STOP_SEMITONES

_LONGEST_GAP_S = 0.08
"""A longer silence lifts the bow: no slide joins the notes. Common practice, no source."""
_SMALLEST_INTERVAL_SEMITONES = 2


def slidable_joins(part: PlayedPart) -> NDArray[np.int64]:
    """Pairs of notes of one track that follow each other closely enough to slide between.

    Returns
    -------
    Note indices, shape (n, 2): the top note of one onset and the top note of the next, at least
    a whole tone apart, without a rest between them, and both stopped on one string. Plucked and
    shaken notes do not count. A join that does slide counts whatever it is.

    Not modelled: which string players would choose.
    """
    notes = part.notes
    slid = [
        (slide.from_note, slide.to_note)
        for slide in part.slides
        if slide.from_note != slide.to_note >= 0
    ]
    pairs = [np.array(slid, np.int64).reshape(-1, 2)]
    plucked = part.articulation.is_any("pizzicato", "tremolo", "trill")
    for role in part.roles:
        rows = np.flatnonzero(part.track == role.index)
        if not len(rows):
            continue
        # Rows are sorted by onset and pitch: the last row of an onset is its top note.
        is_top = np.append(np.diff(notes.onset_ticks[rows]) > 0, True)
        tops = rows[is_top]
        left, right = tops[:-1], tops[1:]
        joined = (
            (notes.onset_s[right] - notes.release_s[left] <= _LONGEST_GAP_S)
            & (np.abs(notes.pitch[right] - notes.pitch[left]) >= _SMALLEST_INTERVAL_SEMITONES)
            & holds_on_one_string(part.instrument, notes.pitch[left], notes.pitch[right])
            & ~plucked[left]
            & ~plucked[right]
        )
        pairs.append(np.stack([left[joined], right[joined]], axis=1))
    return np.unique(np.concatenate(pairs), axis=0)


def holds_on_one_string(
    instrument: Instrument, one: NDArray[np.int16], two: NDArray[np.int16]
) -> NDArray[np.bool_]:
    """Whether a finger can glide from one pitch to the other on some string, shape (n,).

    An open string has no finger on it. Of a whole string body nothing is known, so all are held.
    """
    if instrument.is_ensemble or not instrument.open_strings:
        return np.ones(len(one), np.bool_)
    low, high = np.minimum(one, two), np.maximum(one, two)
    held = [
        (low > string) & (high - string <= HIGHEST_STOP_SEMITONES)
        for string in instrument.open_strings
    ]
    found: NDArray[np.bool_] = np.any(held, axis=0)
    return found
