"""Where a note lies on the strings: geometry only, no hand."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from mockcheck.errors import BadBrief
from mockcheck.model.instrument import Instrument
from mockcheck.units import SEMITONES_PER_OCTAVE, pitch_name

HIGHEST_STOP_SEMITONES = 31
"""The board ends at about 5/6 of the string: violin 270 of 328 mm, cello 580 of 690, bass 880 of
1060 (common practice, no source); 31 semitones lie at 0.833."""


def stop_distance_mm(
    string_length_mm: float, semitones: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Distance from the nut at which a finger stops a note above the open string.

    Parameters
    ----------
    string_length_mm
        Nut to bridge, mm, positive; a full-size violin has about 328.
    semitones
        Height above the open string, shape (n,), zero or more; fractions allow for bends.

    Returns
    -------
    Shape (n,), mm from the nut, below `string_length_mm`.

    Source: ideal string, frequency inversely proportional to sounding length.
    Not modelled: stiffness, and the few cents a pressed string gains in tension.
    """
    # The sounding length shrinks as pitch rises, hence the minus sign.
    return string_length_mm * (1.0 - np.exp2(-semitones / SEMITONES_PER_OCTAVE))


@lru_cache(maxsize=64)
def stop_places_mm(string_length_mm: float) -> tuple[float, ...]:
    """Distance from the nut of every whole-semitone stop, 0 to HIGHEST_STOP_SEMITONES, mm."""
    stops = np.arange(HIGHEST_STOP_SEMITONES + 1, dtype=np.float64)
    return tuple(stop_distance_mm(string_length_mm, stops).tolist())


@dataclass(frozen=True)
class Fingerboard:
    """The strings of one instrument, highest first, as a hand finds them.

    Parameters
    ----------
    open_strings
        Sounding MIDI pitches, highest string first; any tuning, any number of strings.
    string_length_mm
        Nut to bridge, mm, the same for all strings.

    Not modelled: an extension below the nut of the lowest bass string lengthens that string;
    its notes are placed as if the nut were at the extension's end.
    """

    open_strings: tuple[int, ...]
    string_length_mm: float

    @property
    def places_mm(self) -> tuple[float, ...]:
        """Distance of each whole-semitone stop from the nut, mm."""
        return stop_places_mm(self.string_length_mm)

    def has_on_string(self, string_index: int, pitch: int) -> bool:
        """Whether a string can sound this pitch, open or stopped on the board."""
        return 0 <= pitch - self.open_strings[string_index] <= HIGHEST_STOP_SEMITONES

    def string_letter(self, string_index: int) -> str:
        """What players call a string: the letter of its open pitch, 'D' or 'Bb'."""
        letters = [pitch_name(pitch).rstrip("-0123456789") for pitch in self.open_strings]
        letter = letters[string_index]
        # Two A strings of a retuned instrument are told apart by the roman number players use.
        roman = ("I", "II", "III", "IV", "V", "VI")[min(string_index, 5)]
        return letter if Counter(letters)[letter] == 1 else f"{letter} ({roman})"


def fingerboard(instrument: Instrument) -> Fingerboard:
    """The strings of an instrument; a whole string body has none and is refused with BadBrief."""
    if instrument.is_ensemble or not instrument.open_strings:
        message = (
            f"'{instrument.id}' stands for several instruments, so it has no strings to try a"
            " chord on. Name one of them: violin, viola, cello or double bass."
        )
        raise BadBrief(message)
    return Fingerboard(tuple(instrument.open_strings), float(instrument.string_length_mm))
