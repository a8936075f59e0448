"""An instrument as players know it: strings, length, ranges."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from mockcheck.model.session import Level


@dataclass(frozen=True)
class Instrument:
    """One kind of instrument.

    Parameters
    ----------
    id
        'violin', 'viola', 'cello', 'double bass', ...
    open_strings
        Sounding MIDI pitches, highest string first (string_index 0 is string I).
    string_length_mm
        Nut to bridge.
    comfortable_top, section_top, solo_top
        Highest sounding pitches: lies well in an orchestra; a professional section; a soloist.
    sources
        Where each number comes from, keyed by field name.
    is_ensemble
        True for a patch that stands for the whole string body; it has no strings of its own.
    """

    id: str
    open_strings: tuple[int, ...]
    string_length_mm: float
    comfortable_top: int
    section_top: int
    solo_top: int
    sources: Mapping[str, str]
    is_ensemble: bool = False

    @property
    def lowest(self) -> int:
        """The lowest open string."""
        return min(self.open_strings)

    def top(self, level: Level) -> int:
        """Highest pitch to ask of players at a preparation level."""
        return {
            Level.SIGHT: self.section_top,
            Level.REHEARSED: self.section_top,
            Level.SOLO: self.solo_top,
        }[level]
