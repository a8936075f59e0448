"""How each note is played: what is said outright, and what the notes themselves show."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.heard_strokes import hear_strokes
from mockcheck.infer.stroke_evidence import EVIDENCE, Said
from mockcheck.infer.zones import find_zones
from mockcheck.model.notes import Notes
from mockcheck.model.played import ArticulationColumns, ArticulationZone


@dataclass(frozen=True)
class Articulated:
    """The strokes and colours of a part's notes, their zones, and its slurs.

    `slur` numbers the notes of one bow, -1 for a bow of their own, shape (n,).
    """

    columns: ArticulationColumns
    zones: tuple[ArticulationZone, ...]
    slur: NDArray[np.int64]


def articulate(
    notes: Notes, said: Sequence[Said], places: Sequence[NDArray[np.int64]]
) -> Articulated:
    """What is said counts more than what is heard; where both agree the answer is surer.

    Parameters
    ----------
    notes
        The music of one part, the notes of its tracks merged in time, shape (n,).
    said
        What is said about the notes of each track.
    places
        Where the notes of each track are in the part.

    Returns
    -------
    Stroke, colour and confidence of each note, the zones of each track, and the slurs. Evidence
    adds up as log-odds, so that a contradiction lowers the confidence instead of vanishing. Tracks
    that take turns are heard as one line.

    Not modelled: strokes that neither words nor timing show.
    """
    row, unnamed = np.empty(len(notes), np.int64), np.full(len(notes), -1)
    for number, (words, place) in enumerate(zip(said, places, strict=True)):
        row[place] = number
        # A switch means something on its own track only.
        switch = words.unnamed * len(places) + number
        unnamed[place] = np.where(words.unnamed >= 0, switch, -1)
    heard = hear_strokes(notes, row, unnamed)
    code, confidence = heard.code.copy(), heard.confidence.copy()
    colour, colour_confidence = np.full(len(notes), -1, np.int8), np.zeros(len(notes))
    is_said = np.zeros(len(notes), np.bool_)
    for words, place in zip(said, places, strict=True):
        rows = words.stroke.code >= 0
        own = place[rows]
        is_said[own] = True
        code[own] = words.stroke.code[rows]
        support = np.clip(heard.support(own, code[own]), -EVIDENCE.notes, EVIDENCE.notes)
        confidence[own] = _chance(words.stroke.weight[rows] + support)
        named = words.colour.code >= 0
        colour[place] = words.colour.code
        colour_confidence[place[named]] = _chance(words.colour.weight[named])
    columns = ArticulationColumns(code, confidence, colour, colour_confidence)
    zones = [
        zone
        for words, place in zip(said, places, strict=True)
        for zone in find_zones(notes, columns, words, place, heard)
    ]
    zones.sort(key=lambda zone: (zone.onset_ticks, zone.track))
    return Articulated(columns, tuple(zones), heard.slurs(code, is_said))


def _chance(odds: NDArray[np.float64]) -> NDArray[np.float64]:
    """Log-odds as a chance."""
    chance: NDArray[np.float64] = 1 / (1 + np.exp(-odds))
    return chance
