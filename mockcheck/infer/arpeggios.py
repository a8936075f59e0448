"""Fast broken chords, and where they stop being chords that players know.

Source: chords of three and four notes as taught with scales and arpeggios; common practice.
Not modelled: ninths and chords with added notes, which are read note by note.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.quick_lines import quick_lines
from mockcheck.model.columns import stretches
from mockcheck.model.played import PlayedPart

NARROWEST_LEAP_SEMITONES, WIDEST_LEAP_SEMITONES = 3, 12
_CHORDS = (
    (0, 4, 7, 10),
    (0, 4, 7, 11),
    (0, 3, 7, 10),
    (0, 3, 7, 9),
    (0, 3, 6, 9),
    (0, 3, 7, 11),
    (0, 4, 8),
)
"""Sevenths, minor and half-diminished among them as sixths; triads are parts of these."""
_SHORTEST_CHORD = 4
"""A broken chord needs so many notes to be seen as one; of three, nearly any make a chord."""


@dataclass(frozen=True)
class Arpeggio:
    """A fast line in leaps.

    Parameters
    ----------
    note_indices
        Notes of the part, in time order, shape (n,).
    rate
        Notes per second.
    stray
        Places in it of the notes that belong to no broken chord, however it is divided.
    """

    note_indices: NDArray[np.int64]
    rate: float
    stray: tuple[int, ...]


def arpeggios(part: PlayedPart, least_rate: float, least_notes: int) -> Iterator[Arpeggio]:
    """Every fast line in leaps; parameters as those of `quick_lines`."""
    pitch = part.notes.pitch.astype(np.int64)
    for line in quick_lines(part, least_rate, least_notes):
        away = np.abs(np.diff(pitch[line.note_indices]))
        leaps = (away >= NARROWEST_LEAP_SEMITONES) & (away <= WIDEST_LEAP_SEMITONES)
        for first, after in stretches(leaps):
            rows = line.note_indices[first : after + 1]
            if len(rows) >= least_notes:
                yield Arpeggio(rows, line.rate, stray_notes(pitch[rows]))


def stray_notes(pitch: NDArray[np.int64]) -> tuple[int, ...]:
    """Places of a line, MIDI pitches of shape (n,), that no division into broken chords covers."""
    count = len(pitch)
    least = [0] * (count + 1)
    came_from = list(range(-1, count))
    for after in range(1, count + 1):
        least[after], came_from[after] = least[after - 1] + 1, after - 1
        for first in range(after - _SHORTEST_CHORD, -1, -1):
            if not _is_chord(pitch[first:after]):
                break
            if least[first] <= least[after]:
                least[after], came_from[after] = least[first], first
    stray, after = [], count
    while after > 0:
        first = came_from[after]
        if after - first == 1:
            stray.append(first)
        after = first
    return tuple(reversed(stray))


def _is_chord(pitch: NDArray[np.int64]) -> bool:
    sounding = {int(one) % 12 for one in pitch}
    return any(
        sounding <= {(root + semitones) % 12 for semitones in chord}
        for chord in _CHORDS
        for root in range(12)
    )
