"""The ways of playing, by the trade's names, and how each note of a part is played."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from mockcheck.model.columns import freeze_columns

ARTICULATIONS = (
    "legato",
    "detache",
    "portato",
    "marcato",
    "staccato",
    "spiccato",
    "tremolo",
    "trill",
    "pizzicato",
    "col legno",
    "harmonic",
    "con sordino",
    "sul ponticello",
    "sul tasto",
)
"""The trade's names; their order is the code used in columns."""

COLOURS = ("con sordino", "sul ponticello", "sul tasto")
"""Those that are no stroke but hold beside one."""

_ORDINARY = ("legato", "detache")
"""What players do where nobody asks for anything."""
_SPECIAL = ("pizzicato", "col legno", "harmonic")
"""What is never only heard, and says more than any colour beside it."""


@dataclass(frozen=True)
class ArticulationColumns:
    """How each note of a part is played; every array has shape (n,).

    Parameters
    ----------
    code, confidence
        The stroke, as index into ARTICULATIONS, and how sure it is (0-1).
    colour, colour_confidence
        Mute or place of the bow beside the stroke, as index into COLOURS, -1 where nothing says
        so; and how sure it is, 0 there. Left out, no note has one.
    """

    code: NDArray[np.int8]
    confidence: NDArray[np.float64]
    colour: NDArray[np.int8] = field(default_factory=lambda: np.empty(0, np.int8))
    colour_confidence: NDArray[np.float64] = field(default_factory=lambda: np.empty(0))

    def __post_init__(self) -> None:
        if not len(self.colour):
            object.__setattr__(self, "colour", np.full(len(self.code), -1, np.int8))
            object.__setattr__(self, "colour_confidence", np.zeros(len(self.code)))
        freeze_columns(self)

    @property
    def word(self) -> NDArray[np.int8]:
        """The one word for each note, stroke or colour, as index into ARTICULATIONS, shape (n,).

        Plucking, wood and harmonics come first; else a colour does where it is surer, and beside
        ordinary bowing, which needs no word.
        """
        colours = np.array([ARTICULATIONS.index(name) for name in COLOURS], np.int8)
        return np.where(self._is_colour_first, colours[self.colour], self.code)

    @property
    def word_confidence(self) -> NDArray[np.float64]:
        """How sure `word` is (0-1), shape (n,)."""
        return np.where(self._is_colour_first, self.colour_confidence, self.confidence)

    @property
    def _is_colour_first(self) -> NDArray[np.bool_]:
        ordinary, special = (
            np.isin(self.code, [ARTICULATIONS.index(name) for name in names])
            for names in (_ORDINARY, _SPECIAL)
        )
        surer = self.colour_confidence > self.confidence
        as_sure = (self.colour_confidence == self.confidence) & ordinary
        is_first: NDArray[np.bool_] = (self.colour >= 0) & ~special & (surer | as_sure)
        return is_first

    def name(self, note_index: int) -> str:
        """The articulation of one note in one word."""
        return ARTICULATIONS[int(self.word[note_index])]

    def is_any(self, *names: str) -> NDArray[np.bool_]:
        """Mask of the notes played in one of these ways; a colour holds beside any stroke."""
        strokes = [ARTICULATIONS.index(name) for name in names]
        colours = [COLOURS.index(name) for name in names if name in COLOURS]
        return np.isin(self.code, strokes) | np.isin(self.colour, colours)

    def select(self, rows: NDArray[np.bool_] | NDArray[np.int64]) -> ArticulationColumns:
        """Some of the notes."""
        return ArticulationColumns(
            self.code[rows],
            self.confidence[rows],
            self.colour[rows],
            self.colour_confidence[rows],
        )


@dataclass(frozen=True)
class ArticulationZone:
    """A stretch of one track played in one way."""

    track: int
    onset_ticks: int
    release_ticks: int
    articulation: str
    confidence: float
    evidence: str
