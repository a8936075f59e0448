"""The physical model: fingerboard, hand and bow; no search over time, no findings."""

from mockcheck.playing.chords import ChordAnswer, chord
from mockcheck.playing.division import Division, divide
from mockcheck.playing.harmonics import HarmonicWay, explain_no_harmonic, harmonics

__all__ = [
    "ChordAnswer",
    "Division",
    "HarmonicWay",
    "chord",
    "divide",
    "explain_no_harmonic",
    "harmonics",
]
