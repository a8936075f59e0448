"""Whether the notes of a part follow the bar lines of the file at all."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from mockcheck.model.played import PlayedPart
from mockcheck.params import Params, quantity


class BarLineParams(Params):
    """When notes and bar lines have nothing to do with each other."""

    least_agreement: float = quantity(
        0.15,
        unit="length of the mean vector, 0-1",
        low=0,
        high=1,
        meaning="onsets that agree less than this on any place in the beat follow no beat",
        source="parts of published quartets played with 30 ms of jitter: at least 0.27; against"
        " bars of another tempo: at most 0.08 of 400 onsets and more",
    )
    least_onsets: float = quantity(
        100, unit="onsets", low=8, high=1000, meaning="fewer say nothing about the bar lines"
    )
    least_gap_s: float = quantity(
        0.12,
        unit="s",
        low=0,
        high=1,
        meaning="strokes closer than this to the one before are tremolo, trills and runs",
    )


BAR_LINES = BarLineParams()
_CHANCE = 2.4
"""Set on passages of 100 onsets of published quartets: played with 30 ms of jitter at least 0.25,
against bars of another tempo 0.17 (median); by chance alone the longest of six is seldom longer."""
_PARTS_OF_BEAT = (1, 2, 3, 4, 5, 6)
"""Places on which notes may agree: the beat, its halves, thirds, quarters, fifths, sixths."""


def bar_line_agreement(parts: Sequence[PlayedPart]) -> tuple[float, int]:
    """How much the onsets agree on a place in the beat, 0-1, and how many were looked at.

    Measured as the mean vector of the phases (Fisher, Statistical Analysis of Circular Data, 1993),
    the best of several divisions of the beat.
    """
    phases = np.concatenate([np.empty(0), *(_phases(part) for part in parts)])
    if not len(phases):
        return 0.0, 0
    best = max(abs(np.exp(2j * np.pi * m * phases).mean()) for m in _PARTS_OF_BEAT)
    return float(best), len(phases)


def follows_bar_lines(part: PlayedPart) -> bool:
    """False only where there are enough notes to say so."""
    agreement, onsets = bar_line_agreement([part])
    return onsets < BAR_LINES.least_onsets or agreement >= limit_of(
        onsets, BAR_LINES.least_agreement
    )


def limit_of(onsets: int, least_agreement: float) -> float:
    """Few onsets agree by chance: their mean vector is as long as a few over the root of them."""
    return max(least_agreement, _CHANCE / float(np.sqrt(max(onsets, 1))))


def _phases(part: PlayedPart) -> NDArray[np.float64]:
    """Place in the printed beat of onsets that stand alone, 0-1."""
    meter = part.timeline.meter
    if meter is None:
        return np.empty(0)
    lone = np.diff(part.notes.onset_s, prepend=-np.inf) >= BAR_LINES.least_gap_s
    ticks = part.notes.onset_ticks[lone]
    piece = np.maximum(np.searchsorted(meter.ticks, ticks, side="right") - 1, 0)
    beats = (ticks - meter.ticks[piece]) / meter.beat_ticks[piece]
    phases: NDArray[np.float64] = beats % 1.0
    return phases
