"""Music as it stands on paper: bars, note values, clefs and signs of a part, and as MusicXML.

`notate` gives the bars of one part, `musicxml` a document of one part or a whole score. Nothing is
judged here, and nothing inferred anew: places in the beat, spelling, lines, strokes and slurs are
taken as players would read them from the played part.
"""

from __future__ import annotations

from mockcheck.notation.bars import notate
from mockcheck.notation.musicxml import musicxml

__all__ = ["musicxml", "notate"]
