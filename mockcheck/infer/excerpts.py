"""A few notes of a part, as a part of their own."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from mockcheck.model.played import PlayedPart, Sonorities


def excerpt(part: PlayedPart, rows: NDArray[np.int64]) -> PlayedPart:
    """What these players would have on the stand if only these notes were printed.

    Parameters
    ----------
    rows
        Note indices, rising in time, shape (n,).

    Returns
    -------
    A part of n notes with the same players, bars and strokes. What sounds together in the part
    still does, and no more: a late release is not taken for a chord because the note it ran into
    is gone. What was found about longer stretches (zones, slides, fingering, passages, headroom)
    is left out.
    """
    notes = part.notes.select(rows)
    return replace(
        part,
        notes=notes,
        track=part.track[rows],
        bend_at_onset_cents=part.bend_at_onset_cents[rows],
        bend_travel_cents=part.bend_travel_cents[rows],
        articulation=part.articulation.select(rows),
        zones=(),
        slides=(),
        sonorities=_sonorities(part.sonorities, rows, len(part.notes)),
        switches=(),
        fingering=None,
        passages=(),
        headroom=None,
        headroom_tick=0,
        intonation=None,
        loudness=None if part.loudness is None else part.loudness[rows],
        slur=None if part.slur is None else part.slur[rows],
        lines=None if part.lines is None else part.lines.select(rows),
        spelling=None if part.spelling is None else part.spelling.select(rows),
        written=None if part.written is None else part.written.select(rows),
    )


def onset_of_notes(part: PlayedPart) -> NDArray[np.int64]:
    """Row in the part's sonorities at which each note begins, shape (n,).

    A doubled key begins nowhere of its own and gets the row before it, -1 for none.
    """
    whole = part.sonorities
    members, begins = np.unique(whole.members, return_index=True)
    row = np.full(len(part.notes), -1, np.int64)
    row[members] = np.repeat(np.arange(len(whole)), np.diff(whole.first))[begins]
    return np.maximum.accumulate(row)


def _sonorities(whole: Sonorities, rows: NDArray[np.int64], notes: int) -> Sonorities:
    """The onsets at which one of the chosen notes begins, with the chosen notes that sound."""
    place = np.full(notes, -1, np.int64)
    place[rows] = np.arange(len(rows))
    onset = np.repeat(np.arange(len(whole)), np.diff(whole.first))
    _, begins = np.unique(whole.members, return_index=True)
    is_struck = np.zeros(len(whole.members), np.bool_)
    is_struck[begins] = True
    is_chosen = place[whole.members] >= 0
    struck = np.bincount(onset[is_chosen & is_struck], minlength=len(whole))
    is_kept = is_chosen & (struck > 0)[onset]
    counts = np.bincount(onset[is_kept], minlength=len(whole))[struck > 0]
    return Sonorities(
        first=np.concatenate([[0], np.cumsum(counts)]).astype(np.int64),
        members=place[whole.members[is_kept]],
        struck=struck[struck > 0].astype(np.int64),
    )
