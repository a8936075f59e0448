"""Beats of a part as they would be written, for checks of its rhythm; no measuring."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from mockcheck.model.played import PlayedPart
from mockcheck.model.written import ONSET_KINDS, WrittenRhythm

_ORNAMENT_PITCHES = 2
_ORNAMENT_NOTES = 4
_GRACE = ONSET_KINDS.index("grace")
_SURE, _AS_PLAYED = 1.0, 0.6
"""A quantised rhythm is as drawn; one played by hand was read from the playing."""


@dataclass(frozen=True)
class WrittenBeat:
    """What one line of a part begins in one beat.

    Parameters
    ----------
    note_indices
        Notes of the part, in time order, grace notes left out.
    places
        Places in the beat at which something begins, rising.
    division
        Equal parts the beat is cut into.
    seconds, quarters
        Length of the beat.
    voice, beat
        Line of the part, and beat of the grid.
    """

    note_indices: tuple[int, ...]
    places: tuple[Fraction, ...]
    division: int
    seconds: float
    quarters: float
    voice: int
    beat: int


def rhythm_confidence(written: WrittenRhythm) -> float:
    """How sure a written rhythm is."""
    return _SURE if written.is_quantised else _AS_PLAYED


def written_beats(part: PlayedPart, written: WrittenRhythm) -> Iterator[WrittenBeat]:
    """Beats in which something begins, line by line, of a part whose rhythm is written."""
    meter = part.timeline.meter
    assert meter is not None, "a rhythm is written in bars"
    onsets, grid = written.onsets, written.grid
    rows = np.flatnonzero(onsets.kind != _GRACE)
    rows = rows[np.lexsort((rows, onsets.beat[rows], written.voice[rows]))]
    key = np.stack([written.voice[rows], onsets.beat[rows]])
    edges = np.flatnonzero(np.any(np.diff(key, axis=1, prepend=-1) != 0, axis=0))
    for group in np.split(rows, edges[1:]) if len(rows) else []:
        beat = int(onsets.beat[group[0]])
        yield WrittenBeat(
            note_indices=tuple(group.tolist()),
            places=tuple(sorted({written.position(note) for note in group.tolist()})),
            division=int(onsets.division[group[0]]),
            seconds=float(grid.seconds[beat]),
            quarters=float(grid.unit_ticks[beat]) / meter.ticks_per_quarter,
            voice=int(written.voice[group[0]]),
            beat=beat,
        )


def is_ornament(part: PlayedPart, rows: NDArray[np.int64] | tuple[int, ...]) -> bool:
    """Trills and tremolo are written as signs, whatever was played: two pitches at most."""
    chosen = np.array(rows, np.int64)
    if len(chosen) < _ORNAMENT_NOTES:
        return False
    if len(np.unique(part.notes.pitch[chosen])) <= _ORNAMENT_PITCHES:
        return True
    return bool(part.articulation.is_any("tremolo", "trill")[chosen].mean() > 1 / 2)


def neighbours(beats: list[WrittenBeat], apart: int = 1) -> Iterator[list[WrittenBeat]]:
    """Rows of beats of one line that are no further apart than this."""
    row: list[WrittenBeat] = []
    for beat in beats:
        if row and (beat.voice != row[-1].voice or beat.beat - row[-1].beat > apart):
            yield row
            row = []
        row.append(beat)
    if row:
        yield row


def notes_of(beats: list[WrittenBeat]) -> tuple[int, ...]:
    """Notes of several beats."""
    return tuple(sorted(note for beat in beats for note in beat.note_indices))
