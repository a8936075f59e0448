"""How the rhythm of a part would be written: place in the beat, division, and what is performance.

Notation and performance are kept apart: a note stands on an exact fraction of a beat, and how far
it was played from there is a number beside it.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from mockcheck.model.columns import freeze_columns

ONSET_KINDS = ("plain", "grace", "rolled")
"""A note with a place of its own; an ornament before one; a later note of a broken chord."""


@dataclass(frozen=True)
class BeatGrid:
    """The beats that players feel, from the metre map; columns of shape (beats,).

    Parameters
    ----------
    ticks
        Tick at which each beat begins, rising.
    unit_ticks
        How long it would be in full: a quarter, a dotted quarter under 6/8.
    cut
        Share of it that is there (0-1]: below 1 where a bar is short.
    seconds
        Length of a full beat at its tempo, s.
    is_compound
        True where it divides by three as written.
    bar_index
        Bar, from 0, that it belongs to.
    """

    ticks: NDArray[np.float64]
    unit_ticks: NDArray[np.float64]
    cut: NDArray[np.float64]
    seconds: NDArray[np.float64]
    is_compound: NDArray[np.bool_]
    bar_index: NDArray[np.int64]

    def __post_init__(self) -> None:
        freeze_columns(self)

    def __len__(self) -> int:
        return len(self.ticks)


@dataclass(frozen=True)
class WrittenOnsets:
    """Where each note of a part stands on the page; columns of shape (n,).

    Parameters
    ----------
    beat
        Beat of the grid, from 0.
    numerator, denominator
        Place in that beat as a fraction in lowest terms, 0/1 on the beat.
    deviation_ms
        Played after (or, negative, before) that place; the constant part of it, `late_ms` of the
        rhythm, and swing are already taken out.
    division
        Into how many equal parts the beat is cut, by this note's line; 1 where only its start is
        struck.
    kind
        Codes into `ONSET_KINDS`.
    """

    beat: NDArray[np.int64]
    numerator: NDArray[np.int64]
    denominator: NDArray[np.int64]
    deviation_ms: NDArray[np.float64]
    division: NDArray[np.int64]
    kind: NDArray[np.int8]

    def __post_init__(self) -> None:
        freeze_columns(self)

    def __len__(self) -> int:
        return len(self.beat)

    def select(self, rows: NDArray[np.bool_] | NDArray[np.int64]) -> WrittenOnsets:
        """Some of the notes."""
        return WrittenOnsets(*(getattr(self, column.name)[rows] for column in fields(self)))


@dataclass(frozen=True)
class WrittenRhythm:
    """The rhythm of one part, as it would be written.

    Parameters
    ----------
    grid
        Beats, the same for all parts of a score.
    onsets
        Place of each note.
    voice
        Line that each note was read in, shape (n,).
    is_quantised
        The notes lie on the grid already and were only named.
    jitter_ms
        Standard deviation of the playing about the page.
    late_ms
        How late (early, if negative) the whole part is played.
    swing
        Where the second of two halves of a beat is played, 0.5 where they are even.
    """

    grid: BeatGrid
    onsets: WrittenOnsets
    voice: NDArray[np.int64]
    is_quantised: bool
    jitter_ms: float
    late_ms: float
    swing: float

    def select(self, rows: NDArray[np.bool_] | NDArray[np.int64]) -> WrittenRhythm:
        """Some of the notes, on the same beats."""
        return replace(self, onsets=self.onsets.select(rows), voice=self.voice[rows])

    def position(self, note: int) -> Fraction:
        """Place of one note in its beat, exactly."""
        return Fraction(int(self.onsets.numerator[note]), int(self.onsets.denominator[note]))

    def ticks(self) -> NDArray[np.float64]:
        """Tick of each note's place on the page, shape (n,)."""
        beat = self.onsets.beat
        share = self.onsets.numerator / self.onsets.denominator
        return self.grid.ticks[beat] + share * self.grid.unit_ticks[beat]
