"""What the notes of a row alone say about who may play them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.instruments import instrument, vocabulary
from mockcheck.model.instrument import Instrument
from mockcheck.model.notes import Notes
from mockcheck.read.track_names import ENSEMBLE

_SWITCH_GAP_SEMITONES = 13
"""Keys further than an octave from the rest are switches (common practice, no source)."""
_FEWEST_NOTES = 4
_MOST_VOICES_OF_ONE_PLAYER = 1.5
"""Mean number of sounding notes; legato overlap and double stops stay below (our choice)."""
_STRAY_QUANTILE = 0.05


@dataclass(frozen=True)
class NoteProfile:
    """The music of a row without its switches.

    Parameters
    ----------
    pitches
        MIDI pitches of the notes, shape (n,).
    voices
        Mean number of notes that sound together while any does.
    """

    pitches: NDArray[np.int16]
    voices: float

    def share_inside(self, who: Instrument) -> float:
        """Share of the notes that the instrument has at all, 0-1."""
        if len(self.pitches) == 0:
            return 0.0
        return float(np.mean((self.pitches >= who.lowest) & (self.pitches <= who.solo_top)))

    def likeliest(self) -> tuple[str, float]:
        """The instrument whose register this is, and how clearly, 0-1.

        Each of violin, viola, cello and bass is weighed by how far the median lies from the
        middle of its usual parts. One that lacks more than a few of the notes is out. Chords
        that one player cannot keep up are the whole body's, and so is what fits nobody.
        """
        if self.voices > _MOST_VOICES_OF_ONE_PLAYER or len(self.pitches) < _FEWEST_NOTES:
            return ENSEMBLE, 0.5
        median = float(np.median(self.pitches))
        weights = {}
        for name, naming in vocabulary().namings.items():
            who = instrument(name)
            if who.is_ensemble or naming.variant_of is not None:
                continue
            off = (median - naming.usual_pitch) / naming.usual_spread_semitones
            is_open = self.share_inside(who) >= 1 - _STRAY_QUANTILE
            weights[name] = is_open * float(np.exp(-off * off / 2)) / naming.usual_spread_semitones
        total = sum(weights.values())
        if total == 0:
            return ENSEMBLE, 0.0
        best = max(weights, key=lambda name: weights[name])
        return best, weights[best] / total


def note_profile(notes: Notes) -> NoteProfile:
    """Register and density tell strings apart, once switch keys are set aside.

    Cost grows linearly with the notes.
    """
    music = notes.select(_is_music(notes.pitch))
    return NoteProfile(music.pitch, _mean_voices(music))


def _is_music(pitch: NDArray[np.int16]) -> NDArray[np.bool_]:
    """Mask of the largest group of pitches without a wide gap in it."""
    if len(pitch) == 0:
        return np.empty(0, np.bool_)
    used = np.unique(pitch)
    group_of_used = np.concatenate([[0], np.cumsum(np.diff(used) >= _SWITCH_GAP_SEMITONES)])
    group = group_of_used[np.searchsorted(used, pitch)]
    is_music: NDArray[np.bool_] = group == np.argmax(np.bincount(group))
    return is_music


def _mean_voices(notes: Notes) -> float:
    """Sounding time of all notes over the time in which any sounds."""
    if len(notes) == 0:
        return 0.0
    covered_until = np.concatenate([[-np.inf], np.maximum.accumulate(notes.release_s)[:-1]])
    fresh = notes.release_s - np.maximum(notes.onset_s, covered_until)
    covered = float(np.maximum(fresh, 0.0).sum())
    return float(notes.duration_s.sum()) / covered if covered > 0 else 1.0
