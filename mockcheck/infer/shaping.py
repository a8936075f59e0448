"""How the loudness is shaped: over a whole part, and under each note that is held."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.model.dynamics import DynamicsCurve
from mockcheck.model.played import PlayedPart

_STEPS = 16
"""A note is looked at in so many steps; a swell has its rise, its peak and its fall in them."""


@dataclass(frozen=True)
class HeldNotes:
    """The long notes of one track, and the curve under each.

    Parameters
    ----------
    rows
        First note of each onset, index in the part, in order of time, shape (n,).
    loudness
        Loudness 0-127 from the onset to just before the release, shape (n, 17).
    curve
        The curve it is read from.
    """

    rows: NDArray[np.int64]
    loudness: NDArray[np.float64]
    curve: DynamicsCurve

    @property
    def travel(self) -> NDArray[np.float64]:
        """From the softest to the loudest under each note, its very ends left out, shape (n,)."""
        # A value meant for the next note is often sent a little before it.
        travel: NDArray[np.float64] = np.ptp(self.loudness[:, 1:-1], axis=1)
        return travel

    @property
    def swell(self) -> NDArray[np.float64]:
        """How far each note both rises and falls again, shape (n,)."""
        peak = self.loudness.max(axis=1)
        ends = np.maximum(self.loudness[:, 0], self.loudness[:, -1])
        swell: NDArray[np.float64] = peak - ends
        return swell

    @property
    def peak_place(self) -> NDArray[np.float64]:
        """Where each note is loudest, 0-1 of its length, shape (n,)."""
        # A peak that lasts is in its middle.
        is_peak = self.loudness >= self.loudness.max(axis=1, keepdims=True) - 0.5
        places = (is_peak * np.linspace(0, 1, _STEPS + 1)).sum(axis=1)
        middle: NDArray[np.float64] = places / is_peak.sum(axis=1)
        return middle


def held_notes(part: PlayedPart, longer_than_s: float) -> list[HeldNotes]:
    """A section that holds a note swells or fades; the curve under the note shows it.

    Parameters
    ----------
    longer_than_s
        Shorter notes are left out, s; plucked ones too, which nobody holds.

    Returns
    -------
    One entry for each track with such notes; of a chord its first note.
    """
    held = []
    notes = part.notes
    is_long = (notes.duration_s >= longer_than_s) & ~part.articulation.is_any("pizzicato")
    for curve in part.dynamics:
        rows = np.flatnonzero(is_long & (part.track == curve.track))
        rows = rows[np.diff(notes.onset_ticks[rows], prepend=-1) > 0]
        if not len(rows):
            continue
        places = np.linspace(0, 1, _STEPS + 1)
        # What is sent at the release is for the next note.
        lasts_s = np.maximum(notes.duration_s[rows] - 1e-6, 0)
        time_s = notes.onset_s[rows][:, None] + places * lasts_s[:, None]
        loudness = curve.value_at(time_s.ravel()).reshape(time_s.shape)
        held.append(HeldNotes(rows.astype(np.int64), loudness, curve))
    return held


def loudness_range(part: PlayedPart) -> float:
    """From a part's softest notes to its loudest, or what is drawn under them if that is wider.

    Returns
    -------
    Steps of 127; one note in twenty is left out at either end, so that one accent is no range.
    """
    if not len(part.notes):
        return 0.0
    heard = part.notes.velocity if part.loudness is None else part.loudness
    softest, loudest = np.percentile(heard, [5, 95])
    drawn = [float(np.ptp(curve.loudness)) for curve in part.dynamics if curve.is_drawn]
    return max(float(loudest - softest), *drawn, 0.0)


def loudness_confidence(part: PlayedPart, rows: NDArray[np.int64]) -> float:
    """How sure the loudness of these notes is: that of the least sure of their tracks (0-1)."""
    tracks = set(part.track[rows].tolist())
    return min((curve.confidence for curve in part.dynamics if curve.track in tracks), default=1.0)
