"""How notes are written: letter, accidental and the interval between two of them.

A place on the line of fifths is a letter with its accidental: C is 0, G 1, F -1; seven places on is
a sharp more. The distance between two places names the kind of their interval.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.model.columns import freeze_columns

LETTERS_BY_FIFTHS = "FCGDAEB"
_NATURAL_FIFTHS = -1
"""Place of F, the lowest natural."""
_NATURAL_SEMITONES = np.array([5, 0, 7, 2, 9, 4, 11])
_STEP_OF_LETTER = np.array([3, 0, 4, 1, 5, 2, 6])
"""Steps above C of each letter of LETTERS_BY_FIFTHS."""
_FIFTHS_OF_STEP = np.array([0, 2, 4, -1, 1, 3, 5])
"""Place of the natural on each letter, C D E F G A B."""
CHROMATIC_SEMITONE_FIFTHS = 7
"""Perfect, major and minor intervals lie within five places, tritones are six apart; of wider
ones only this, C to C sharp, is read without a thought."""
_NUMBERS = ("unison", "second", "third", "fourth", "fifth", "sixth", "seventh")


@dataclass(frozen=True)
class SpellingColumns:
    """How each note of a part reads, as places on the line of fifths; arrays of shape (n,).

    Parameters
    ----------
    fifths
        As the line reads well.
    as_imported
        As a notation program would print it, which knows only the key signature.
    key_fifths
        Signature of the key area of each note: sharps, or flats below 0.
    signature_fifths, has_signature
        Signature that the file gives for the note, and whether it does; 0 where not.
    """

    fifths: NDArray[np.int8]
    as_imported: NDArray[np.int8]
    key_fifths: NDArray[np.int8]
    signature_fifths: NDArray[np.int8]
    has_signature: NDArray[np.bool_]

    def __post_init__(self) -> None:
        freeze_columns(self)

    def select(self, rows: NDArray[np.bool_] | NDArray[np.int64]) -> SpellingColumns:
        """Some of the notes."""
        return SpellingColumns(
            self.fifths[rows],
            self.as_imported[rows],
            self.key_fifths[rows],
            self.signature_fifths[rows],
            self.has_signature[rows],
        )


def sounds_in_key(pitch: NDArray[np.int64], key_fifths: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Whether pitches are notes of a signature, however spelled, shape as `pitch`."""
    inside: NDArray[np.bool_] = (7 * pitch - key_fifths + 1) % 12 <= 6
    return inside


def is_in_key(fifths: NDArray[np.int64], key_fifths: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Whether notes need no accidental under a signature, shape as `fifths`."""
    above = fifths - key_fifths
    inside: NDArray[np.bool_] = (above >= -1) & (above <= 5)
    return inside


def accidentals_of(fifths: NDArray[np.int64]) -> NDArray[np.int64]:
    """Sharps, or flats below 0, in front of each note, shape as `fifths`."""
    return (fifths - _NATURAL_FIFTHS) // 7


def signature_alterations(
    signature: NDArray[np.int64], step: NDArray[np.int64]
) -> NDArray[np.int64]:
    """Sharps, or flats below 0, that signatures put on the letters of staff steps."""
    natural = _FIFTHS_OF_STEP[step % len(_FIFTHS_OF_STEP)]
    # A signature of k sharps holds the seven places from k - 1 to k + 5.
    alteration: NDArray[np.int64] = (signature + 5 - natural) // len(_FIFTHS_OF_STEP)
    return alteration


def staff_steps(pitch: NDArray[np.int64], fifths: NDArray[np.int64]) -> NDArray[np.int64]:
    """Steps above the C five octaves below middle C at which notes stand, shape as `pitch`.

    Middle C stands on 35, the D above it on 36, whatever is in front of them. Pitches are MIDI
    pitches, `fifths` places of the same pitch class.
    """
    natural = pitch - accidentals_of(fifths)
    letter = (fifths - _NATURAL_FIFTHS) % 7
    octave = (natural - _NATURAL_SEMITONES[letter]) // 12
    steps: NDArray[np.int64] = 7 * octave + _STEP_OF_LETTER[letter]
    return steps


def letter_name(fifths: int) -> str:
    """Letter and accidental of a place: 'Eb', 'F##'."""
    accidentals, letter = divmod(fifths - _NATURAL_FIFTHS, 7)
    return LETTERS_BY_FIFTHS[letter] + (
        "#" * accidentals if accidentals > 0 else "b" * -accidentals
    )


def spoken_name(fifths: int) -> str:
    """A place in words, for names of keys: 'E flat', 'F sharp', 'C'."""
    accidentals, letter = divmod(fifths - _NATURAL_FIFTHS, 7)
    sign = "sharp" if accidentals > 0 else "flat"
    times = {0: "", 1: f" {sign}", 2: f" double {sign}"}[min(abs(accidentals), 2)]
    return LETTERS_BY_FIFTHS[letter] + times


def spelled_name(pitch: int, fifths: int, middle_c_octave: int = 4) -> str:
    """A pitch as spelled, with its octave; B sharp belongs to the octave of the B it raises.

    Parameters
    ----------
    pitch
        MIDI pitch.
    fifths
        Place on the line of fifths, of the same pitch class.
    middle_c_octave
        3, 4 or 5, a house custom.
    """
    natural = pitch - (fifths - _NATURAL_FIFTHS) // 7
    return f"{letter_name(fifths)}{natural // 12 - 5 + middle_c_octave}"


def interval_name(from_note: tuple[int, int], to_note: tuple[int, int]) -> str:
    """'augmented second', 'minor third': the melodic interval between two (pitch, fifths).

    Compound intervals are named as within the octave.
    """
    low, high = sorted((from_note, to_note), key=lambda note: (_steps(*note), note[0]))
    number = (_steps(*high) - _steps(*low)) % 7
    away = high[1] - low[1]
    if number == 0 and away == CHROMATIC_SEMITONE_FIFTHS:
        return "chromatic semitone"
    return f"{_quality(away)} {_NUMBERS[number]}"


def _steps(pitch: int, fifths: int) -> int:
    return int(staff_steps(np.array([pitch]), np.array([fifths]))[0])


def _quality(away: int) -> str:
    """Of an interval whose upper note lies this many fifths above the lower."""
    if -1 <= away <= 1:
        return "perfect"
    if 2 <= away <= 5:
        return "major"
    if -5 <= away <= -2:
        return "minor"
    times = (abs(away) - 6) // 7 + 1
    word = "augmented" if away > 0 else "diminished"
    return word if times == 1 else f"doubly {word}"
