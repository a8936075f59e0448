"""Chords shared out over lines, one line for each desk or group of desks."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from mockcheck.export._doubled import doubled
from mockcheck.infer.chords import ChordPassage, chord_passages, division_of
from mockcheck.model.finding import Finding, Severity
from mockcheck.model.played import PlayedPart
from mockcheck.model.review import Review
from mockcheck.playing.chords import ChordAnswer, chord
from mockcheck.playing.division import Division

CHECKS = ("chord-needs-divisi", "chord-out-of-reach", "double-stop-on-one-string")
"""The checks whose cure is to divide."""

Chord = tuple[tuple[int, ...], Division | None]
"""The notes that sound together, low to high, and how they are shared out."""


@dataclass(frozen=True)
class DividedPassage:
    """Chords of one finding, and the line that takes each of their notes.

    Parameters
    ----------
    finding
        The finding that asks for it.
    chords
        The notes of each chord, low to high.
    line
        Line of each note, 0 for the highest.
    """

    finding: Finding
    chords: tuple[tuple[int, ...], ...]
    line: dict[int, int]


def divide_chords(review: Review, part: PlayedPart) -> Iterator[DividedPassage]:
    """Chords that one player cannot play, and for which the part has players enough.

    A note keeps the line it began in while the others change around it.

    Source: `playing/division.py`, as the findings use it.
    """
    if part.players < 2:
        return
    line: dict[int, int] = {}
    for finding in review.findings:
        if finding.check not in CHECKS or finding.part != part.name:
            continue
        if finding.accepted is not None or finding.severity < Severity.RISKY:
            continue
        passage = _passage_of(part, finding)
        if passage is None:
            continue
        chords = _chords(part, passage, finding.check)
        if not all(division is not None and division.is_enough for _, division in chords):
            continue
        for notes, division in chords:
            if division is not None:
                _share(part, notes, division, line)
        concerned = {
            row: line[note]
            for notes, _ in chords
            for note in notes
            for row in (note, *doubled(part, note))
        }
        yield DividedPassage(finding, tuple(notes for notes, _ in chords), concerned)


def _passage_of(part: PlayedPart, finding: Finding) -> ChordPassage | None:
    """The chords that a finding speaks of: same cause, same place, same pitches."""
    for passage in chord_passages(part, lambda answer, _: answer.cause == finding.check):
        rows = list(passage.note_indices)
        begins = int(part.notes.onset_ticks[rows].min())
        if begins == finding.start.tick and (
            tuple(part.notes.pitch[rows].tolist()) == finding.pitches
        ):
            return passage
    return None


def _chords(part: PlayedPart, passage: ChordPassage, check: str) -> list[Chord]:
    """The chords of a passage, and those around it that the section divides without a break."""
    members = set(passage.note_indices)
    concerned: dict[int, tuple[int, ...]] = {}
    for row in range(len(part.sonorities)):
        notes = tuple(n for n in part.sonorities.notes_at(row).tolist() if n in members)
        if len(notes) > 1 and _answer(part, notes).cause == check:
            concerned[row] = notes
    for step, edge in ((-1, min(concerned)), (1, max(concerned))):
        row = edge + step
        while 0 <= row < len(part.sonorities) and _is_divided(part, row):
            concerned[row] = tuple(part.sonorities.notes_at(row).tolist())
            row += step
    return [
        (notes, division_of(part, _answer(part, notes))) for _, notes in sorted(concerned.items())
    ]


def _answer(part: PlayedPart, notes: tuple[int, ...]) -> ChordAnswer:
    pitches = sorted({int(part.notes.pitch[note]) for note in notes})
    return chord(part.instrument, pitches, middle_c_octave=part.session.middle_c_octave)


def _is_divided(part: PlayedPart, row: int) -> bool:
    """Whether a moment is heard as divided, by players of one track."""
    notes = part.sonorities.notes_at(row)
    if len(notes) < 2 or part.lines is None or len(np.unique(part.track[notes])) > 1:
        return False
    return bool(part.lines.select(notes).is_any("divisi").all())


def _share(
    part: PlayedPart, notes: tuple[int, ...], division: Division, line: dict[int, int]
) -> None:
    """Give each note of a chord that has no line yet the one of the division, if it is free."""
    wanted = {pitch: number for number, own in enumerate(division.lines) for pitch in own.pitches}
    taken = {line[note] for note in notes if note in line}
    for number in range(len(division.lines)):
        group = [n for n in notes if n not in line and wanted[int(part.notes.pitch[n])] == number]
        if not group:
            continue
        free = number
        while free in taken:
            free = (free + 1) % (len(taken) + len(division.lines))
        line |= dict.fromkeys(group, free)
        taken.add(free)
