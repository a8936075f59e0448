"""A few notes of a part, as a part of their own."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.sonorities import find_sonorities
from mockcheck.model.played import ArticulationColumns, PlayedPart


def excerpt(part: PlayedPart, rows: NDArray[np.int64]) -> PlayedPart:
    """What these players would have on the stand if only these notes were printed.

    Parameters
    ----------
    rows
        Note indices, rising in time, shape (n,).

    Returns
    -------
    A part of n notes with the same players, bars and strokes; what was found about longer
    stretches (zones, slides, fingering, passages, headroom) is left out.
    """
    notes = part.notes.select(rows)
    return replace(
        part,
        notes=notes,
        track=part.track[rows],
        bend_at_onset_cents=part.bend_at_onset_cents[rows],
        bend_travel_cents=part.bend_travel_cents[rows],
        articulation=ArticulationColumns(
            part.articulation.code[rows], part.articulation.confidence[rows]
        ),
        zones=(),
        slides=(),
        sonorities=find_sonorities(notes),
        switches=(),
        fingering=None,
        passages=(),
        headroom=None,
        headroom_tick=0,
        loudness=None if part.loudness is None else part.loudness[rows],
    )
