"""The strokes of a part as its notes show them, whatever is said about them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.bowing import Bowing, hear_bowing
from mockcheck.infer.slurs import number_slurs
from mockcheck.infer.streams import find_streams
from mockcheck.infer.stroke_certainty import share_right
from mockcheck.infer.stroke_evidence import EVIDENCE
from mockcheck.infer.stroke_signs import HEARD
from mockcheck.model.notes import Notes
from mockcheck.model.played import ARTICULATIONS

ALIKE = {
    "legato": ("legato",),
    "detache": ("detache", "portato", "marcato"),
    "portato": ("portato", "detache", "legato"),
    "marcato": ("marcato", "detache", "staccato"),
    "staccato": ("staccato", "spiccato", "marcato"),
    "spiccato": ("spiccato", "staccato"),
}
"""Strokes whose lengths do not contradict each other: what one calls so another hears so. A tremolo
or a trill may be one long key, and nothing contradicts it. Common practice, no source."""

HEARD_CODES = np.array([ARTICULATIONS.index(name) for name in HEARD], np.int8)
_ALIKE = np.array([[name in ALIKE.get(word, ()) for name in HEARD] for word in ARTICULATIONS])
_SMALLEST = 1e-12


Column = NDArray[np.float64]


@dataclass(frozen=True)
class HeardStrokes:
    """What is heard of each note of a part; arrays are of shape (n,).

    Parameters
    ----------
    code, confidence
        Likeliest stroke, as index into ARTICULATIONS, and how often such an answer is right.
    chances
        Chance of each stroke that can be heard, shape (n, len(HEARD)).
    share, gap_s
        Sounding time over the time to the next onset of the line, and that time, s.
    lines
        The notes of each line, and its bowing.
    """

    code: NDArray[np.int8]
    confidence: NDArray[np.float64]
    chances: NDArray[np.float64]
    share: NDArray[np.float64]
    gap_s: NDArray[np.float64]
    lines: tuple[tuple[NDArray[np.int64], Bowing], ...]

    def support(self, notes: NDArray[np.int64], code: NDArray[np.int8]) -> NDArray[np.float64]:
        """Log-odds, nats, that the notes themselves give to these strokes, or to some alike.

        0 for a stroke that timing does not show.
        """
        chances = np.maximum(self.chances[notes], _SMALLEST)
        is_alike = _ALIKE[code]
        alike = np.maximum((chances * is_alike).sum(axis=1), _SMALLEST)
        odds = np.log(alike) - np.log(np.maximum(chances.sum(axis=1) - alike, _SMALLEST))
        return np.where(is_alike.any(axis=1), odds, 0.0)

    def slurs(self, code: NDArray[np.int8], is_said: NDArray[np.bool_]) -> NDArray[np.int64]:
        """Number of each note's slur, given its stroke and whether that is said; -1 for none."""
        slur = np.full(len(code), -1, np.int64)
        for rows, bowing in self.lines:
            own = number_slurs(bowing, code[rows], is_said[rows])
            slur[rows] = np.where(own >= 0, own + slur.max(initial=-1) + 1, -1)
        return slur


def hear_strokes(notes: Notes, row: NDArray[np.int64], unnamed: NDArray[np.int64]) -> HeardStrokes:
    """A line spread over several tracks is heard as the one line it is.

    Parameters
    ----------
    notes
        The music of one part, in time order, shape (n,).
    row
        The track each note is from, shape (n,).
    unnamed
        Number of the switch without a known meaning that is in force, -1 for none, shape (n,).

    Returns
    -------
    The strokes, line by line. Notes under one unnamed switch are played alike: what most of them
    sound like counts for each.
    """
    stream = find_streams(notes, row)
    lines = [np.flatnonzero(stream == number) for number in np.unique(stream)]
    heard = [hear_bowing(notes.select(rows)) for rows in lines]
    order = np.argsort(np.concatenate([np.empty(0, np.int64), *lines]))

    def in_part(columns: list[Column], width: tuple[int, ...] = ()) -> Column:
        return np.concatenate([np.empty((0, *width)), *columns])[order]

    chances = in_part([own.chances[own.onset_of_note] for own in heard], (len(HEARD),))
    chances = _voted(chances, unnamed)
    best = chances.argmax(axis=1) if len(notes) else np.empty(0, np.int64)
    return HeardStrokes(
        code=HEARD_CODES[best],
        confidence=share_right(chances, unnamed >= 0),
        chances=chances,
        share=in_part([own.lengths.share[own.onset_of_note] for own in heard]),
        gap_s=in_part([own.lengths.gap_s[own.onset_of_note] for own in heard]),
        lines=tuple(zip(lines, heard, strict=True)),
    )


def _voted(chances: Column, unnamed: NDArray[np.int64]) -> Column:
    """The chances with a vote of all notes under each unnamed switch added to them."""
    rows = np.flatnonzero(unnamed >= 0)
    if not len(rows):
        return chances
    voted = chances.copy()
    _, switch = np.unique(unnamed[rows], return_inverse=True)
    votes = np.zeros((int(switch.max()) + 1, len(HEARD)))
    np.add.at(votes, switch, chances[rows])
    voted[rows, votes.argmax(axis=1)[switch]] *= np.exp(EVIDENCE.found_switch)
    voted /= voted.sum(axis=1, keepdims=True)
    return voted
