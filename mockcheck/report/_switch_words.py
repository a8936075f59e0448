"""Articulation switches in words: what throws them, and how often they are thrown."""

from __future__ import annotations

from mockcheck.model.played import FoundSwitch
from mockcheck.model.words import count_of
from mockcheck.units import pitch_name


def trigger_words(switch: FoundSwitch, middle_c_octave: int, *, with_middle_c: bool) -> str:
    """'switch 24 (C1 where middle C is C4)', 'controller 32, values 0 to 8', 'program 46'.

    Programs count from 1, as General MIDI prints them and the brief wants them.
    """
    if switch.pitch is not None:
        where = f" where middle C is C{middle_c_octave}" if with_middle_c else ""
        return f"switch {switch.pitch} ({pitch_name(switch.pitch, middle_c_octave)}{where})"
    if switch.controller is not None:
        return f"controller {switch.controller}, {_values(switch)}"
    if switch.program is not None:
        return f"program {switch.program + 1}"
    return f"channel {switch.channel}"


def _values(switch: FoundSwitch) -> str:
    one = switch.low == switch.high
    return f"value {switch.low}" if one else f"values {switch.low} to {switch.high}"


def note_words(switch: FoundSwitch, middle_c_octave: int) -> str:
    """'C1: 14 presses, short notes follow', for a comment beside the switch."""
    if switch.pitch is not None:
        name = pitch_name(switch.pitch, middle_c_octave)
        thrown = f"{name}: {switch.presses:,} {'press' if switch.presses == 1 else 'presses'}"
    else:
        thrown = f"thrown {count_of(switch.presses, 'time')}"
    return ", ".join(words for words in (thrown, switch.follows) if words)
