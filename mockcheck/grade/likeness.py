"""Which submissions have music in common that the class was not given: a question, no verdict.

Every part is read as its top line: intervals, and whether each note is longer or shorter than the
one before. So the key, the tempo, track order and names change nothing. Rows of notes that the
reference or more than half of the class has are given material, and rows that every book has
(scales, repetitions, plain turns) say nothing.

Not modelled: a copy put in inversion, or with other note values throughout.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.grade.music import PartMusic, PieceMusic
from mockcheck.grade.submission import Submission
from mockcheck.model.words import bars_words

ROW_NOTES = 10
"""Notes of a row: shorter ones come by chance, longer ones are broken by small changes."""
_TOGETHER_QUARTERS = 1 / 12
_LONGER = 0.3
"""Logarithm to base 2 of the ratio of two gaps from which one is the longer."""
_FEWEST_INTERVALS = 4
"""A row with fewer different intervals is a scale, a repetition or a figure."""
_FEWEST_SHARED = 3
"""So many students at least must share a row before it is taken for given material."""
_Row = tuple[int, ...]


@dataclass(frozen=True)
class Likeness:
    """Two submissions with music in common.

    Parameters
    ----------
    share
        0-1, of the shorter one's top lines, given material left out.
    notes
        Notes in common.
    where, other_where
        Part and bars in either, in words.
    """

    student: str
    other: str
    share: float
    notes: int
    where: str
    other_where: str


@dataclass(frozen=True)
class _TopLine:
    """The highest notes of a part and its rows; `known` notes are given material."""

    piece: str
    part: str
    bar: NDArray[np.int64]
    rows: dict[_Row, list[int]]


def find_likenesses(
    works: Sequence[Submission],
    reference: PieceMusic | None,
    least_share: float,
    least_notes: int,
) -> tuple[Likeness, ...]:
    """Pairs of students whose music is alike, the most alike first."""
    lines = [_lines_of(work) for work in works]
    holders: dict[_Row, set[int]] = defaultdict(set)
    for index, own in enumerate(lines):
        for line in own:
            for row in line.rows:
                holders[row].add(index)
    given = {row for part in (reference.parts if reference else ()) for row in _rows(part)[1]}
    # A row that is half the class's is nobody's.
    most = max(len(works) / 2, _FEWEST_SHARED - 1)
    given |= {row for row, who in holders.items() if len(who) > most}
    own_notes = [sum(len(_covered(line, set(line.rows) - given)) for line in own) for own in lines]
    shared: dict[tuple[int, int], set[_Row]] = defaultdict(set)
    for row, who in holders.items():
        if row not in given and len(who) > 1:
            ordered = sorted(who)
            for place, one in enumerate(ordered):
                for other in ordered[place + 1 :]:
                    shared[one, other].add(row)
    found = []
    for (one, other), rows in sorted(shared.items()):
        notes = [sum(len(_covered(line, rows)) for line in lines[side]) for side in (one, other)]
        side = 0 if own_notes[one] <= own_notes[other] else 1
        share = notes[side] / max(own_notes[(one, other)[side]], 1)
        if share >= least_share and min(notes) >= least_notes:
            where = [_places(lines[index], rows) for index in (one, other)]
            names = works[one].student, works[other].student
            found.append(Likeness(*names, min(share, 1.0), min(notes), *where))
    return tuple(sorted(found, key=lambda row: (-row.share, row.student, row.other)))


def _lines_of(work: Submission) -> list[_TopLine]:
    lines = []
    for piece in work.pieces:
        for part in piece.music.parts:
            bar, rows = _rows(part)
            name = piece.name if len(work.pieces) > 1 else ""
            lines.append(_TopLine(name, part.part, bar, rows))
    return lines


def _rows(part: PartMusic) -> tuple[NDArray[np.int64], dict[_Row, list[int]]]:
    """Bars of the top line's notes, and where every telling row of it begins."""
    tops = _top_notes(part)
    pitch = part.pitch[tops]
    gaps = np.log2(np.maximum(np.diff(part.onset_quarters[tops]), 1e-6))
    turns = np.diff(gaps)
    rhythm = (turns > _LONGER).astype(int) - (turns < -_LONGER).astype(int)
    steps = np.diff(pitch)
    rows: dict[_Row, list[int]] = defaultdict(list)
    for first in range(len(tops) - ROW_NOTES + 1):
        intervals = steps[first : first + ROW_NOTES - 1].tolist()
        if len(set(intervals)) >= _FEWEST_INTERVALS:
            values = rhythm[first : first + ROW_NOTES - 2].tolist()
            rows[*intervals, *values].append(first)
    return part.bar[tops], dict(rows)


def _top_notes(part: PartMusic) -> NDArray[np.int64]:
    """Of notes that begin together the highest, as rows of the part."""
    tops: list[int] = []
    began = -np.inf
    for row, onset in enumerate(part.onset_quarters.tolist()):
        if onset - began > _TOGETHER_QUARTERS:
            tops.append(row)
            began = onset
        elif part.pitch[row] > part.pitch[tops[-1]]:
            tops[-1] = row
    return np.array(tops, np.int64)


def _covered(line: _TopLine, rows: set[_Row]) -> set[int]:
    """Notes of a line that lie in some of the rows."""
    return {
        note
        for row, places in line.rows.items()
        if row in rows
        for first in places
        for note in range(first, first + ROW_NOTES)
    }


def _places(lines: Sequence[_TopLine], rows: set[_Row]) -> str:
    return "; ".join(_place_words(lines, rows))


def _place_words(lines: Sequence[_TopLine], rows: set[_Row]) -> Iterator[str]:
    for line in lines:
        notes = sorted(_covered(line, rows))
        if notes:
            name = f"{line.piece}, {line.part}" if line.piece else line.part
            bars = [int(bar) for bar in line.bar[notes] if bar]
            yield f"{name} {bars_words(bars)}" if bars else name
