"""Conversions between the units of the trade; no musical judgement."""

from __future__ import annotations

SEMITONES_PER_OCTAVE = 12
MIDDLE_C_PITCH = 60
"""MIDI 1.0 Detailed Specification 4.2, Note Number: key 60 is middle C."""

_LETTERS = ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")
_LETTER_SEMITONES = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
_ACCIDENTALS = {"": 0, "#": 1, "##": 2, "b": -1, "bb": -2}


def pitch_name(pitch: int, middle_c_octave: int = 4) -> str:
    """A MIDI pitch has a letter and an octave; which octave middle C has is a house custom.

    `middle_c_octave` is 3, 4 or 5. Black keys get their commonest spelling (Bb, not A#).
    """
    octave = pitch // SEMITONES_PER_OCTAVE - 5 + middle_c_octave
    return f"{_LETTERS[pitch % SEMITONES_PER_OCTAVE]}{octave}"


def pitch_from_name(name: str, middle_c_octave: int = 4) -> int:
    """Read 'C#4', 'Eb-1' or a plain MIDI number as a MIDI pitch.

    Raises ValueError, with the accepted forms in its text, for anything else.
    """
    text = name.strip()
    if text.isdigit():
        return int(text)
    head = text.rstrip("-0123456789")
    octave = text[len(head) :]
    letter, accidental = head[:1].upper(), head[1:]
    try:
        return (
            SEMITONES_PER_OCTAVE * (int(octave) + 5 - middle_c_octave)
            + _LETTER_SEMITONES[letter]
            + _ACCIDENTALS[accidental]
        )
    except (KeyError, ValueError):
        message = (
            f"'{name}' is not a pitch. Write a letter A-G, # or b if needed, and an octave,"
            " as in C#4 or Eb3, or a MIDI number from 0 to 127."
        )
        raise ValueError(message) from None


def bpm_from_microseconds(microseconds_per_quarter: float) -> float:
    """Quarter notes per minute of a tempo given as microseconds per quarter note."""
    return 60e6 / microseconds_per_quarter
