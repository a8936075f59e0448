"""The physical model: fingerboard, hand and bow; no search over time, no findings."""

from mockcheck.playing.chords import ChordAnswer, chord
from mockcheck.playing.division import Division, divide

__all__ = ["ChordAnswer", "Division", "chord", "divide"]
