"""Fast runs by step, and the scale that players hear in them.

Players have every major, minor, chromatic and whole-tone scale in the fingers; a run that keeps to
one is read at its first and last note. A note outside has to be read by itself.

Source: an orchestrator's notes on exotic scale runs (film scoring); whole tones from memory.
Not modelled: modes are taken as the major scale they share their notes with.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.quick_lines import quick_lines
from mockcheck.model.columns import stretches
from mockcheck.model.played import PlayedPart
from mockcheck.model.spelled import spoken_name

WIDEST_STEP_SEMITONES = 3
"""The augmented second of a harmonic minor scale is still a step of the run."""
_STEPS_ONE_WAY = 4
"""A line that turns sooner is a figure, not a run."""
_CHROMATIC_NOTES = 4
"""So many semitones in one direction are a piece of the chromatic scale."""

_SCALES: tuple[tuple[str, tuple[int, ...], int], ...] = (
    ("major", (0, 2, 4, 5, 7, 9, 11), 0),
    ("minor", (0, 2, 3, 5, 7, 8, 10), 3),
    ("minor", (0, 2, 3, 5, 7, 8, 11), 3),
    ("minor", (0, 2, 3, 5, 7, 9, 11), 3),
    ("whole tones", (0, 2, 4, 6, 8, 10), 0),
)
"""Kind, semitones above the tonic, and places of the tonic above that of the signature's major."""


@dataclass(frozen=True)
class ScaleFit:
    """The scale that a run of n notes breaks least.

    Parameters
    ----------
    name
        'C minor'.
    signature_fifths
        Its key signature: sharps, or flats below 0.
    foreign
        Places in the run of the notes that break it.
    plain
        Pitches of the run kept to the scale, shape (n,).
    """

    name: str
    signature_fifths: int
    foreign: tuple[int, ...]
    plain: NDArray[np.int64]


@dataclass(frozen=True)
class ScaleRun:
    """A fast run by step: notes of the part in time order, notes per second, and its scale."""

    note_indices: NDArray[np.int64]
    rate: float
    scale: ScaleFit


def scale_runs(part: PlayedPart, least_rate: float, least_notes: int) -> Iterator[ScaleRun]:
    """Every fast run by step; parameters as those of `quick_lines`.

    Runs of a part without spelling are held against C major where scales fit equally well.
    """
    pitch = part.notes.pitch.astype(np.int64)
    for line in quick_lines(part, least_rate, least_notes):
        for first, after in _runs(np.diff(pitch[line.note_indices])):
            rows = line.note_indices[first : after + 1]
            if len(rows) >= least_notes:
                key = 0 if part.spelling is None else int(part.spelling.key_fifths[rows[0]])
                yield ScaleRun(rows, line.rate, nearest_scale(pitch[rows], key))


def _runs(leap: NDArray[np.int64]) -> list[tuple[int, int]]:
    """First and last-but-one note of each run: steps that keep their direction for a while."""
    is_run = np.zeros(len(leap), np.bool_)
    for direction in (1, -1):
        away = direction * leap
        for first, after in stretches((away >= 1) & (away <= WIDEST_STEP_SEMITONES)):
            is_run[first:after] = after - first >= _STEPS_ONE_WAY
    return stretches(is_run)


def nearest_scale(pitch: NDArray[np.int64], key_fifths: int) -> ScaleFit:
    """The scale that a run breaks least, and the run kept to it.

    Parameters
    ----------
    pitch
        MIDI pitches of a run, shape (n,).
    key_fifths
        Signature in force: of scales broken equally often the one nearest to it counts.
    """
    counts_not = _is_chromatic(pitch) | _is_neighbour(pitch)
    ranked = []
    for order, (_, semitones, above) in enumerate(_SCALES):
        for tonic in range(12):
            members = np.zeros(12, np.bool_)
            members[(tonic + np.array(semitones)) % 12] = True
            foreign = np.flatnonzero(~members[pitch % 12] & ~counts_not)
            place = _nearest_place(tonic, key_fifths + above)
            away = abs(place - above - key_fifths)
            ranked.append((len(foreign), away, order, tonic, place, foreign, members))
    _, _, order, _, place, foreign, members = min(ranked, key=lambda row: row[:4])
    kind, _, above = _SCALES[order]
    name = f"{spoken_name(place)} {kind}" if kind in ("major", "minor") else kind
    plain = _kept_to(pitch, foreign, members)
    return ScaleFit(name, place - above, tuple(foreign.tolist()), plain)


def _is_chromatic(pitch: NDArray[np.int64]) -> NDArray[np.bool_]:
    is_part = np.zeros(len(pitch), np.bool_)
    for direction in (1, -1):
        for first, after in stretches(np.diff(pitch) == direction):
            if after - first + 1 >= _CHROMATIC_NOTES:
                is_part[first : after + 1] = True
    return is_part


def _is_neighbour(pitch: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Notes a semitone beside the one before, to which the line returns."""
    is_neighbour = np.zeros(len(pitch), np.bool_)
    is_neighbour[1:-1] = (pitch[:-2] == pitch[2:]) & (np.abs(np.diff(pitch[:-1])) == 1)
    return is_neighbour


def _nearest_place(pitch_class: int, near: int) -> int:
    """Place on the line of fifths of a pitch class, nearest to another."""
    away = (7 * pitch_class - near + 6) % 12 - 6
    return near + away


def _kept_to(
    pitch: NDArray[np.int64], places: NDArray[np.int64], members: NDArray[np.bool_]
) -> NDArray[np.int64]:
    """Foreign notes replaced by a scale note that keeps the line moving, the nearest there is."""
    plain = pitch.copy()
    for place in places.tolist():
        beside = {int(plain[near]) for near in (place - 1, place + 1) if 0 <= near < len(pitch)}
        low, high = min(beside), max(beside)

        def strays(tried: int, low: int = low, high: int = high) -> bool:
            return not low < tried < high

        ways = [int(pitch[place]) + step for step in (-1, 1, -2, 2, -3, 3)]
        ways = [way for way in ways if members[way % 12] and way not in beside]
        if ways:
            plain[place] = min(ways, key=lambda way: (strays(way), abs(way - int(pitch[place]))))
    return plain
