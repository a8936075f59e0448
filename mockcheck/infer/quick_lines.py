"""Fast notes that one player reads as one line, without chords, trills and tremolos."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.model.columns import stretches
from mockcheck.model.played import PlayedPart

_LOOSE = 1.3
"""A single gap may be this much longer than the slowest: a hand is not even."""
_ROUNDED = 0.999
"""A file's tempo is written in whole microseconds, its onsets in whole ticks."""
_TOGETHER_S = 0.015
"""Onsets nearer than this are a chord; no line runs at 60 notes a second."""


@dataclass(frozen=True)
class QuickLine:
    """Notes one after the other, all fast.

    Parameters
    ----------
    note_indices
        Notes of the part, in time order, shape (n,).
    rate
        Notes per second.
    """

    note_indices: NDArray[np.int64]
    rate: float


def quick_lines(part: PlayedPart, least_rate: float, least_notes: int) -> Iterator[QuickLine]:
    """Every fast line of a part.

    Parameters
    ----------
    part
        A played part.
    least_rate
        Notes per second below which notes are not fast.
    least_notes
        Shorter lines are left out.
    """
    onset_s = part.notes.onset_s
    is_ornament = part.articulation.is_any("trill", "tremolo")
    lines = np.zeros(len(onset_s), np.int64) if part.lines is None else part.lines.line
    for line in np.unique(lines).tolist():
        rows = np.flatnonzero(lines == line)
        gap_s = np.diff(onset_s[rows])
        goes_on = (gap_s > _TOGETHER_S) & (gap_s <= _LOOSE / least_rate)
        goes_on &= ~is_ornament[rows[:-1]] & ~is_ornament[rows[1:]]
        for first, after in stretches(goes_on):
            if after - first + 1 < least_notes:
                continue
            notes = rows[first : after + 1]
            rate = (after - first) / float(onset_s[notes[-1]] - onset_s[notes[0]])
            if rate >= least_rate * _ROUNDED:
                yield QuickLine(notes, rate)


def bars_of(part: PlayedPart, line: QuickLine) -> list[NDArray[np.int64]]:
    """The notes of a fast line, bar by bar: an accidental holds until the bar line.

    Without bars, sixteen notes stand for one.
    """
    meter, rows = part.timeline.meter, line.note_indices
    if meter is None:
        return np.split(rows, np.arange(16, len(rows), 16))
    bar = meter.bar_index(part.notes.onset_ticks[rows])
    return np.split(rows, np.flatnonzero(np.diff(bar)) + 1)
