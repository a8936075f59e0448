"""How many lines a part usually has around each moment, and about how high each of them lies."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.overlaps import NoteEnds
from mockcheck.model.played import Sonorities
from mockcheck.params import Params, quantity

MOST_LINES = 8
"""Sections divide in more very rarely; further notes of a chord join the lowest line."""


class TextureParams(Params):
    """What makes a number of lines usual."""

    around_s: float = quantity(
        60,
        unit="s",
        low=1,
        high=600,
        meaning="how far to both sides a moment's surroundings reach",
        source="fitted: lines of half of 26 open string quartets put on one track",
    )
    usual_share: float = quantity(
        0.2,
        unit="share of the sounding time",
        low=0.01,
        high=1,
        meaning="so many lines are usual when they sound for this much of the surroundings",
        source="fitted with `around_s`",
    )
    near_s: float = quantity(
        5, unit="s", low=0.5, high=60, meaning="the same for a passage that is divided by itself"
    )
    near_share: float = quantity(
        0.5, unit="share of the sounding time", low=0.01, high=1, meaning="likewise"
    )
    longest_s: float = quantity(
        1,
        unit="s",
        low=0.1,
        high=60,
        meaning="one moment counts for no more than this, or a last chord would outweigh a page",
    )


TEXTURE = TextureParams()
_CLOCK_S = 1e-6


@dataclass(frozen=True)
class Texture:
    """Surroundings of each onset of a part.

    Parameters
    ----------
    sounding
        Pitches that sound at each onset, shape (m,).
    usual
        Lines the part usually has around it, 1 to MOST_LINES, shape (m,).
    height
        Mean pitch of each line, the highest first, where as many sound as is usual; nan where
        that never happens, shape (lines, m).
    """

    sounding: NDArray[np.int64]
    usual: NDArray[np.int64]
    height: NDArray[np.float64]


def find_texture(pitch: NDArray[np.int16], ends: NoteEnds, sonorities: Sonorities) -> Texture:
    """A line is as high as it is where all lines sound, and there the highest is the first.

    Parameters
    ----------
    pitch
        Pitch of each note of the part, shape (n,).
    ends, sonorities
        Onsets of the part and what sounds at each.

    Source: segments with all voices fix the order of voices: Chew and Wu, Separating voices in
    polyphonic music: a contig mapping approach (2004).
    """
    sounding = np.diff(sonorities.first)
    onset_s = ends.onset_s
    held_s = np.minimum(
        np.diff(onset_s, append=onset_s[-1:] + TEXTURE.longest_s), TEXTURE.longest_s
    )
    most = min(int(sounding.max(initial=1)), MOST_LINES)
    usual = np.ones(len(onset_s), np.int64)
    for around_s, share in (
        (TEXTURE.around_s, TEXTURE.usual_share),
        (TEXTURE.near_s, TEXTURE.near_share),
    ):
        window = _Window(onset_s, around_s)
        all_s = window.sum(held_s)
        for lines in range(2, most + 1):
            is_usual = window.sum(held_s * (sounding >= lines)) >= share * all_s - _CLOCK_S
            usual[is_usual] = np.maximum(usual[is_usual], lines)
    return Texture(sounding, usual, _heights(pitch, sonorities, usual, held_s, onset_s))


@dataclass(frozen=True)
class _Window:
    """Sums over the onsets within some seconds of each onset."""

    onset_s: NDArray[np.float64]
    around_s: float

    def sum(self, values: NDArray[np.float64]) -> NDArray[np.float64]:
        total = np.append(0.0, np.cumsum(values))
        first = np.searchsorted(self.onset_s, self.onset_s - self.around_s - _CLOCK_S)
        after = np.searchsorted(self.onset_s, self.onset_s + self.around_s + _CLOCK_S)
        sums: NDArray[np.float64] = total[after] - total[first]
        return sums


def _heights(
    pitch: NDArray[np.int16],
    sonorities: Sonorities,
    usual: NDArray[np.int64],
    held_s: NDArray[np.float64],
    onset_s: NDArray[np.float64],
) -> NDArray[np.float64]:
    window = _Window(onset_s, TEXTURE.around_s)
    sounding = np.diff(sonorities.first)
    heights = np.full((int(usual.max(initial=1)), len(onset_s)), np.nan)
    for lines in np.unique(usual).tolist():
        weight = held_s * (sounding == lines)
        weight_s = window.sum(weight)
        rows = (usual == lines) & (weight_s > _CLOCK_S)
        for line in range(lines):
            # Members run from the lowest pitch, lines from the highest.
            place = np.minimum(sonorities.first[1:] - 1 - line, len(sonorities.members) - 1)
            own = pitch[sonorities.members[np.maximum(place, 0)]].astype(np.float64)
            heights[line, rows] = (window.sum(weight * own) / np.maximum(weight_s, _CLOCK_S))[rows]
    return heights
