"""The joins of a part that could carry a slide: what slides are counted against."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mockcheck.model.played import PlayedPart

_LONGEST_GAP_S = 0.08
"""A longer silence lifts the bow: no slide joins the notes. Common practice, no source."""
_SMALLEST_INTERVAL_SEMITONES = 2


def slidable_joins(part: PlayedPart) -> NDArray[np.int64]:
    """Pairs of notes of one track that follow each other closely enough to slide between.

    Returns
    -------
    Note indices, shape (n, 2): the top note of one onset and the top note of the next, at least
    a whole tone apart, without a rest between them. Plucked notes do not count.

    Not modelled: whether one string holds both ends.
    """
    pairs = []
    notes = part.notes
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
            & ~plucked[left]
            & ~plucked[right]
        )
        pairs.append(np.stack([left[joined], right[joined]], axis=1))
    return np.concatenate(pairs) if pairs else np.empty((0, 2), np.int64)
