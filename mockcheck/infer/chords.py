"""The chords of a part, each asked of one player's hand, neighbours taken together."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.layers import find_groups
from mockcheck.model.played import PlayedPart
from mockcheck.playing.chords import ChordAnswer, chord
from mockcheck.playing.division import Division, divide

_MOST_NOTES_TO_DIVIDE = 9
"""Sharing out is exact up to nine notes; more are no chord for one section."""


_WRITTEN_OUT_HARMONICS = ((5, 24), (7, 19), (4, 28))
"""Touched note and sounding note above the stopped one, semitones: fourth, fifth, major third.
Source: arithmetic of the partials 4, 3 and 5; notation programs export all three notes."""


def is_written_out_harmonic(pitches: tuple[int, ...]) -> bool:
    """Three notes that are one artificial harmonic: stopped, touched and sounding."""
    above = tuple(pitch - pitches[0] for pitch in pitches[1:])
    return above in _WRITTEN_OUT_HARMONICS


@dataclass(frozen=True)
class ChordPassage:
    """Consecutive onsets of a part whose chords all have the wanted property.

    Parameters
    ----------
    note_indices
        All notes concerned, in order of time.
    chords
        How many chords there are.
    worst
        The answer for the fullest of them, then the widest.
    longest_s
        How long the longest of these chords is held, s.
    """

    note_indices: tuple[int, ...]
    chords: int
    worst: ChordAnswer
    longest_s: float


def chord_passages(
    part: PlayedPart, is_wanted: Callable[[ChordAnswer, float], bool]
) -> Iterator[ChordPassage]:
    """Find passages of chords for which `is_wanted(answer, held_s)` is true.

    Onsets with a single pitch end a passage. Chords with a note below the open strings are left
    to the range check; a harmonic exported as three notes is no chord. Where a section has tracks
    that stand for groups of its players, each group has chords of its own.
    """
    members: list[int] = []
    answers: list[tuple[ChordAnswer, float]] = []
    previous = -2
    for row, notes in _chords(part):
        pitches = tuple(sorted({int(pitch) for pitch in part.notes.pitch[notes]}))
        if len(pitches) < 2 or pitches[0] < part.instrument.lowest:
            continue
        if is_written_out_harmonic(pitches):
            continue
        answer = chord(part.instrument, pitches, middle_c_octave=part.session.middle_c_octave)
        held_s = float(part.notes.release_s[notes].min() - part.notes.onset_s[notes].max())
        if not is_wanted(answer, held_s):
            continue
        if row != previous + 1 and answers:
            yield _passage(members, answers)
            members, answers = [], []
        members += notes.tolist()
        answers.append((answer, held_s))
        previous = row
    if answers:
        yield _passage(members, answers)


def _chords(part: PlayedPart) -> Iterator[tuple[int, NDArray[np.int64]]]:
    """Onset and notes of everything that one player, or one group of players, sounds together."""
    alone = np.zeros(len(part.notes), np.int64)
    group = find_groups(part.notes, part.track) if part.players > 1 else alone
    for row in np.flatnonzero(np.diff(part.sonorities.first) > 1).tolist():
        notes = part.sonorities.notes_at(row)
        for own in np.unique(group[notes]):
            yield row, notes[group[notes] == own]


def _passage(members: list[int], answers: list[tuple[ChordAnswer, float]]) -> ChordPassage:
    worst, _ = max(answers, key=lambda row: (len(row[0].pitches), row[0].stretch_mm))
    longest_s = max(held_s for _, held_s in answers)
    return ChordPassage(tuple(sorted(set(members))), len(answers), worst, longest_s)


def division_of(part: PlayedPart, answer: ChordAnswer) -> Division | None:
    """How the players of a part share out a chord; None where dividing does not help."""
    if len(answer.pitches) > _MOST_NOTES_TO_DIVIDE:
        return None
    octave = part.session.middle_c_octave
    return divide(part.instrument, answer.pitches, part.players, middle_c_octave=octave)
