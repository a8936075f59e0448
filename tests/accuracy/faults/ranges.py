"""Notes that the instrument does not have."""

from __future__ import annotations

from dataclasses import replace
from random import Random

from tests.accuracy.corpus import instrument_of
from tests.accuracy.faults.fault import OPEN_STRINGS, SOLO_TOP, Fault, fault_at, swap_note
from tests.accuracy.midi_music import Music, Note, Part


def below_open_string(music: Music, part: Part, note: Note, chance: Random) -> Fault:
    """One note ends up 1 to 12 semitones under the lowest open string."""
    missing = chance.randint(1, 12)
    low = replace(note, pitch=min(OPEN_STRINGS[instrument_of(part)]) - missing)
    detail = f"pitch {low.pitch}, {missing} below"
    span = (note.onset, note.onset + 1)
    changed = swap_note(part, note, low)
    return fault_at("below open string", music, changed, span, detail, "note-below-open-string")


def above_solo_top(music: Music, part: Part, note: Note, chance: Random) -> Fault:
    """One note ends up 1 to 12 semitones above the highest note of soloists."""
    over = chance.randint(1, 12)
    high = replace(note, pitch=SOLO_TOP[instrument_of(part)] + over)
    span = (note.onset, note.onset + 1)
    detail = f"pitch {high.pitch}, {over} above"
    changed = swap_note(part, note, high)
    return fault_at("above solo top", music, changed, span, detail, "note-above-range")
