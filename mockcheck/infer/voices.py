"""Which notes of a part follow each other as one line.

A sweep over the onsets gives each new note a line that is free there, at the least cost in all.
Several ways of going on are kept side by side, since a wrong turn shows only later.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from itertools import combinations, pairwise, permutations
from math import inf, perm
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.overlaps import NoteEnds
from mockcheck.infer.texture import MOST_LINES, Texture
from mockcheck.infer.voice_costs import VOICE, VoiceCosts
from mockcheck.model.notes import Notes
from mockcheck.model.played import Sonorities

_MOST_PATHS = 8
_DEAREST = 12.0
"""Ways of going on that are kept, and how much more than the best one they may have cost."""
_MOST_ORDERS = 24
"""With more orders than this, four lines' worth, only those with one crossing are tried."""


class _Path(NamedTuple):
    """One way of sharing out all notes so far.

    `last` is the last note of each line, -1 for none, `loudness` what each line lately had;
    `notes` of the latest onset went to `lines`, the earlier ones as `before` tells.
    """

    cost: float
    last: tuple[int, ...]
    loudness: tuple[float, ...]
    before: _Path | None
    notes: tuple[int, ...]
    lines: tuple[int, ...]


def find_voices(
    notes: Notes, ends: NoteEnds, sonorities: Sonorities, texture: Texture
) -> NDArray[np.int64]:
    """Notes of one line lie near each other, seldom cross another line and seldom rest.

    Parameters
    ----------
    notes
        All notes of one part, in time order, shape (n,).
    ends, sonorities, texture
        Their onsets and ends, what sounds together, and how many lines are usual where.

    Returns
    -------
    Line of each note, 0 = the highest where all sound, shape (n,). Notes struck together have
    lines of their own, as far as MOST_LINES go; a doubled key has the line of its double.

    Source: voices by pitch distance and crossings, as in Chew and Wu, Separating voices in
    polyphonic music: a contig mapping approach (2004), here as a search that keeps several
    hypotheses; costs fitted as declared.
    Not modelled: motives, and who rests while one line plays alone.
    """
    if len(notes) == 0 or int(texture.sounding.max()) < 2:
        return np.zeros(len(notes), np.int64)
    sweep = _Sweep(VoiceCosts(notes, ends, texture), ends, sonorities, texture)
    # Whoever finds no line of its own joins the lowest.
    line = np.full(len(notes), sweep.lines - 1, np.int64)
    for placed, lines in sweep.run():
        line[list(placed)] = lines
    return _with_doubles(line, notes, ends, sonorities)


def _with_doubles(
    line: NDArray[np.int64], notes: Notes, ends: NoteEnds, sonorities: Sonorities
) -> NDArray[np.int64]:
    """A key pressed twice at one onset is one note of one line."""
    key = ends.onset_of_note * 128 + notes.pitch
    members = np.unique(sonorities.members)
    members = members[np.argsort(key[members], kind="stable")]
    place = np.minimum(np.searchsorted(key[members], key), len(members) - 1)
    stands_for = members[place]
    return np.where(key[stands_for] == key, line[stands_for], line)


class _Sweep:
    """The walk along the onsets of a part."""

    def __init__(
        self, costs: VoiceCosts, ends: NoteEnds, sonorities: Sonorities, texture: Texture
    ) -> None:
        self.lines = min(int(texture.sounding.max()), MOST_LINES)
        self._costs = costs
        self._usual: list[int] = texture.usual.tolist()
        row = np.repeat(np.arange(len(sonorities)), np.diff(sonorities.first))
        until = np.zeros(len(ends.onset_of_note), np.int64)
        np.maximum.at(until, sonorities.members, row + 1)
        self._until_row: list[int] = until.tolist()
        is_struck = ends.onset_of_note[sonorities.members] == row
        bounds = np.searchsorted(row[is_struck], np.arange(len(sonorities) + 1)).tolist()
        struck = sonorities.members[is_struck].tolist()
        # Members run from the lowest pitch up, lines from the highest down.
        self._struck = [tuple(struck[first:after][::-1]) for first, after in pairwise(bounds)]

    def run(self) -> Iterator[tuple[tuple[int, ...], tuple[int, ...]]]:
        """Notes and their lines on the best path, the last onset first."""
        paths = [_Path(0.0, (-1,) * self.lines, (0.0,) * self.lines, None, (), ())]
        for row, struck in enumerate(self._struck):
            if struck:
                paths = self._step(paths, row)
        path: _Path | None = paths[0]
        while path is not None:
            yield path.notes, path.lines
            path = path.before

    def _step(self, paths: list[_Path], row: int) -> list[_Path]:
        """The best ways of going on over one onset."""
        if self._is_plain(paths[0], row):
            best = paths[0]
            return [self._going_on(best.cost, best, self._struck[row], (0,))]
        found: dict[tuple[int, ...], tuple[float, _Path, tuple[int, ...], tuple[int, ...]]] = {}
        joins: dict[tuple[int, int, int], float] = {}
        dearest = inf
        for path in paths:
            for cost, notes, lines in self._ways(path, row, joins):
                if cost > dearest:
                    continue
                dearest = min(dearest, cost + _DEAREST)
                last = _replaced(path.last, notes, lines)
                if last not in found or cost < found[last][0]:
                    found[last] = (cost, path, notes, lines)
        best_ways = sorted(found.values(), key=lambda way: way[0])[:_MOST_PATHS]
        return [self._going_on(*way) for way in best_ways]

    def _is_plain(self, path: _Path, row: int) -> bool:
        """One note where one line is usual and nothing else sounds: there is no choice."""
        if self._usual[row] > 1 or len(self._struck[row]) > 1:
            return False
        return not self._sounding(path, row)

    def _sounding(self, path: _Path, row: int) -> list[int]:
        """Lines whose last note still sounds."""
        until = self._until_row
        return [line for line, note in enumerate(path.last) if note >= 0 and until[note] > row]

    def _going_on(
        self, cost: float, path: _Path, notes: tuple[int, ...], lines: tuple[int, ...]
    ) -> _Path:
        loudness = list(path.loudness)
        for note, line in zip(notes, lines, strict=True):
            loudness[line] = self._costs.loudness_after(loudness[line], note)
        last = _replaced(path.last, notes, lines)
        return _Path(cost, last, tuple(loudness), path, notes, lines)

    def _ways(
        self, path: _Path, row: int, joins: dict[tuple[int, int, int], float]
    ) -> Iterator[tuple[float, tuple[int, ...], tuple[int, ...]]]:
        """Each way of sharing out the notes struck at an onset: cost so far, notes, their lines."""
        sounding = self._sounding(path, row)
        free, notes = self._free_lines(path, row, sounding)
        table = [
            [self._cost(path, line, note, row, sounding, joins) for line in free] for note in notes
        ]
        for order, crossings in _orders(len(free), len(notes)):
            cost = path.cost + crossings * VOICE.crossing
            for costs, place in zip(table, order, strict=True):
                cost += costs[place]
            yield cost, notes, tuple(free[place] for place in order)

    def _free_lines(
        self, path: _Path, row: int, sounding: list[int]
    ) -> tuple[list[int], tuple[int, ...]]:
        """Lines that may take the notes struck here, and as many of the notes as there are lines.

        No more lines than are usual or needed; where all are taken, those that end first let go.
        """
        struck = self._struck[row][: self.lines]
        while len(sounding) + len(struck) > self.lines:
            sounding.remove(min(sounding, key=lambda line: self._until_row[path.last[line]]))
        needed = max(self._usual[row], len(sounding) + len(struck))
        return [line for line in range(min(needed, self.lines)) if line not in sounding], struck

    def _cost(
        self,
        path: _Path,
        line: int,
        note: int,
        row: int,
        sounding: list[int],
        joins: dict[tuple[int, int, int], float],
    ) -> float:
        before = path.last[line]
        cost = joins.get((before, line, note))
        if cost is None:
            cost = self._costs.place(line, note, row)
            if before >= 0:
                cost += self._costs.join(before, note, row, row - self._until_row[before])
            joins[before, line, note] = cost
        if sounding:
            cost += self._costs.crossings(line, note, path.last, sounding)
        return cost + (self._costs.loudness(path.loudness[line], note) if before >= 0 else 0.0)


def _replaced(
    last: tuple[int, ...], notes: tuple[int, ...], lines: tuple[int, ...]
) -> tuple[int, ...]:
    changed = list(last)
    for note, line in zip(notes, lines, strict=True):
        changed[line] = note
    return tuple(changed)


@cache
def _orders(lines: int, notes: int) -> tuple[tuple[tuple[int, ...], int], ...]:
    """Ways to give notes, highest first, to lines, and how many pairs cross in each."""
    if perm(lines, notes) <= _MOST_ORDERS:
        return tuple((order, _crossings(order)) for order in permutations(range(lines), notes))
    orders = []
    for order in combinations(range(lines), notes):
        orders.append((order, 0))
        for place in range(notes - 1):
            swapped = (*order[:place], order[place + 1], order[place], *order[place + 2 :])
            orders.append((swapped, 1))
    return tuple(orders)


def _crossings(order: tuple[int, ...]) -> int:
    return sum(one > two for one, two in combinations(order, 2))
