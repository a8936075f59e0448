"""Ties between two lines of notes, and the heaviest chain of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.model.columns import freeze_columns

_STEPS_PER_QUARTER = 48
_MULTIPLIER = 0x9E3779B97F4A7C15
Line = tuple[NDArray[np.int64], NDArray[np.float64]]
"""Pitches and places in quarter notes, in order of time, both of shape (n,)."""


@dataclass(frozen=True)
class _Row:
    """A kind of short row of notes: how many, what of them counts, and what a tie by it weighs."""

    notes: int
    has_pitch: bool
    has_rhythm: bool
    weight: float


_ANY_KEY = _Row(6, has_pitch=False, has_rhythm=True, weight=1.5)
_ROWS = (
    _Row(4, has_pitch=True, has_rhythm=True, weight=3.0),
    _Row(12, has_pitch=True, has_rhythm=True, weight=3.0),
    _ANY_KEY,
    _Row(10, has_pitch=False, has_rhythm=False, weight=1.0),
)
"""As they stand, short ones for what is rare and long ones for what comes often; transposed;
transposed and in other note values."""


@dataclass(frozen=True)
class Ties:
    """Places of two lines that are the same, each with the semitones it went up and its weight."""

    old: NDArray[np.float64]
    new: NDArray[np.float64]
    shift: NDArray[np.int64]
    weight: NDArray[np.float64]

    def __post_init__(self) -> None:
        freeze_columns(self)

    def select(self, rows: NDArray[np.int64]) -> Ties:
        """Some of the ties."""
        return Ties(self.old[rows], self.new[rows], self.shift[rows], self.weight[rows])


def ties_between(old: Line, new: Line) -> Ties:
    """Both ends of every row of notes that stands exactly once in either line."""
    found = []
    for row in _ROWS:
        left, right = _once(_digests(old, row)), _once(_digests(new, row))
        _, at_left, at_right = np.intersect1d(left[0], right[0], return_indices=True)
        first_old, first_new = left[1][at_left], right[1][at_right]
        for end in (0, row.notes - 1):
            rows_old, rows_new = first_old + end, first_new + end
            found.append(
                Ties(
                    old[1][rows_old],
                    new[1][rows_new],
                    new[0][rows_new] - old[0][rows_old],
                    np.full(len(rows_old), row.weight, np.float64),
                )
            )
    return joined_ties(found)


def rows_of(line: Line) -> NDArray[np.uint64]:
    """A number for every different short row of notes of a line, whatever its key; rising."""
    return np.unique(_digests(line, _ANY_KEY))


def common_share(one: NDArray[np.uint64], other: NDArray[np.uint64]) -> float:
    """Share, 0-1, of the rows of the line with fewer that the other has too; see `rows_of`."""
    common = len(np.intersect1d(one, other, assume_unique=True))
    return common / max(min(len(one), len(other)), 1)


def joined_ties(tables: Sequence[Ties]) -> Ties:
    """Several tables as one in order of the old places, equal ties together with their weights."""
    if not tables:
        empty = np.zeros(0)
        return Ties(empty, empty.copy(), np.zeros(0, np.int64), empty.copy())
    old, new, shift, weight = (
        np.concatenate([getattr(table, name) for table in tables])
        for name in ("old", "new", "shift", "weight")
    )
    order = np.lexsort((-weight, new, old))
    old, new, shift, weight = old[order], new[order], shift[order], weight[order]
    is_first = np.ones(len(old), np.bool_)
    is_first[1:] = (np.diff(old) != 0) | (np.diff(new) != 0)
    group = np.cumsum(is_first) - 1
    total = np.bincount(group, weight, minlength=int(is_first.sum())).astype(np.float64)
    return Ties(old[is_first], new[is_first], shift[is_first], total)


def _digests(line: Line, row: _Row) -> NDArray[np.uint64]:
    """A number for every row of notes of that kind; equal rows have equal numbers."""
    pitch, places = line
    count = len(pitch) - row.notes + 1
    if count < 1:
        return np.zeros(0, np.uint64)
    gaps = np.rint(np.diff(places) * _STEPS_PER_QUARTER).astype(np.int64)
    steps = np.diff(pitch) * 8192
    if row.has_rhythm:
        steps = steps + gaps
    letters = steps.astype(np.uint64)
    digests = pitch[:count].astype(np.uint64) if row.has_pitch else np.zeros(count, np.uint64)
    for step in range(row.notes - 1):
        digests = (digests ^ letters[step : step + count]) * np.uint64(_MULTIPLIER)
        digests ^= digests >> np.uint64(29)
    return digests


def _once(digests: NDArray[np.uint64]) -> tuple[NDArray[np.uint64], NDArray[np.int64]]:
    """Numbers that come exactly once, and where."""
    values, first, counts = np.unique(digests, return_index=True, return_counts=True)
    return values[counts == 1], first[counts == 1]


def heaviest_chain(ties: Ties) -> Ties:
    """The ties of the heaviest chain that rises in both lines.

    Dynamic programming over ties in order of the old places; a tree of greatest weights so far,
    over the new places, answers what may come before. Time grows as n log n, memory as n.
    """
    if not len(ties.old):
        return ties
    _, levels = np.unique(ties.new, return_inverse=True)
    new, old, weight = levels.tolist(), ties.old.tolist(), ties.weight.tolist()
    best = _GreatestBefore(int(levels.max()) + 1)
    total, before = weight[:], [-1] * len(old)
    first_here = 0
    for row in range(len(old)):
        # Ties of one old place exclude each other, so all of them ask before one is put in.
        if old[row] != old[first_here]:
            for done in range(first_here, row):
                best.put(new[done] + 1, total[done], done)
            first_here = row
        greatest, before[row] = best.ask(new[row])
        total[row] += greatest
    row = int(np.argmax(total))
    chain = []
    while row >= 0:
        chain.append(row)
        row = before[row]
    return ties.select(np.array(chain[::-1], np.int64))


class _GreatestBefore:
    """The greatest weight put at or below a level.

    Source: Fenwick, A new data structure for cumulative frequency tables, Software: Practice and
    Experience 24, 1994, with the greatest in place of the sum.
    """

    def __init__(self, levels: int) -> None:
        self._best: list[tuple[float, int]] = [(0.0, -1)] * (levels + 1)

    def put(self, level: int, weight: float, row: int) -> None:
        while level < len(self._best):
            if weight > self._best[level][0]:
                self._best[level] = (weight, row)
            level += level & -level

    def ask(self, level: int) -> tuple[float, int]:
        greatest = (0.0, -1)
        while level > 0:
            greatest = max(greatest, self._best[level])
            level -= level & -level
        return greatest
