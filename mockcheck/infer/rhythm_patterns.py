"""Rhythms of one beat: which there are, how usual each is, and which follows which.

Counted in published string quartets by `python -m tests.reading.learn_rhythm`; what was never
seen there is possible too, the less so the finer its division.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from importlib import resources
from itertools import combinations
from math import lcm

import numpy as np
from numpy.typing import NDArray

Pattern = tuple[Fraction, ...]
"""Places in a beat at which something begins, rising, from 0 to below 1."""

Follows = Mapping[str, Mapping[str, Mapping[str, int]]]
"""'simple' or 'compound' beat, rhythm of a beat, rhythm of the next: how often."""

MOST_SLOTS = 64
_SUBSETS = {
    "simple": {2: 3.0, 4: 1.0, 3: 1.0, 6: 0.1, 8: 0.05, 5: 0.03},
    "compound": {3: 3.0, 6: 1.0, 2: 0.3, 4: 0.1},
}
"""Every choice of places of these divisions may come, weighed as if seen this often."""
_EVEN = {5: 1.0, 6: 1.0, 7: 1.0, 8: 1.0, 9: 1.0, 10: 0.3, 11: 0.1, 12: 1.0, 16: 0.5}
_EVEN_RARE = 0.03
_PRIOR_WEIGHT = 12.0
"""How many sightings of a rhythm weigh as much as what follows rhythms in general."""


@dataclass(frozen=True)
class PatternTable:
    """All rhythms of a beat.

    Parameters
    ----------
    patterns
        Simple ones first.
    division
        Equal parts the beat is cut into, shape (p,).
    family
        0 where only the beat itself is struck, 1 where it is divided as its kind divides (in two,
        four ...; a compound beat in three, six ...), 2 in three (a compound one in two), 3
        otherwise; shape (p,).
    is_compound
        Of beats that divide by three, shape (p,).
    follow_cost
        -log of the share with which the second (column) comes after the first, shape (p, p).
    of_size
        Rhythms by (is compound, number of places): their rows and places, shape (rows, places).
    """

    patterns: tuple[Pattern, ...]
    division: NDArray[np.int64]
    family: NDArray[np.int64]
    is_compound: NDArray[np.bool_]
    follow_cost: NDArray[np.float64]
    of_size: Mapping[tuple[bool, int], tuple[NDArray[np.int64], NDArray[np.float64]]]


@cache
def pattern_table() -> PatternTable:
    """The table that ships with the package."""
    text = resources.files("mockcheck.infer").joinpath("rhythm_counts.json").read_text("utf-8")
    return table_from_counts(json.loads(text))


def pattern_name(pattern: Pattern) -> str:
    """'0 1/2' for two halves of a beat, '' for a beat in which nothing begins."""
    return " ".join(str(place) for place in pattern)


def pattern_from_name(name: str) -> Pattern:
    """The reverse of `pattern_name`."""
    return tuple(Fraction(place) for place in name.split())


def table_from_counts(follows: Follows) -> PatternTable:
    """Costs from counts of which rhythm follows which."""
    blocks = [_block(follows[kind], kind) for kind in ("simple", "compound")]
    patterns = tuple(pattern for block, _, _ in blocks for pattern in block)
    is_compound = np.repeat([False, True], [len(block) for block, _, _ in blocks])
    cost = np.empty((len(patterns), len(patterns)))
    first = 0
    for block, alone, after in blocks:
        columns = slice(first, first + len(block))
        # Where the metre changes, the beat before says nothing.
        cost[:, columns] = -np.log(alone)
        cost[columns, columns] = -np.log(after)
        first += len(block)
    of_size: dict[tuple[bool, int], tuple[NDArray[np.int64], NDArray[np.float64]]] = {}
    sizes = np.array([len(pattern) for pattern in patterns])
    for kind in (False, True):
        for size in range(MOST_SLOTS + 1):
            rows = np.flatnonzero((sizes == size) & (is_compound == kind))
            places = np.array([[float(x) for x in patterns[row]] for row in rows])
            of_size[kind, size] = rows, places.reshape(len(rows), size)
    division = [lcm(*(place.denominator for place in pattern)) for pattern in patterns]
    family = [
        _family(parts, kind) for parts, kind in zip(division, is_compound.tolist(), strict=True)
    ]
    return PatternTable(patterns, np.array(division), np.array(family), is_compound, cost, of_size)


def _family(parts: int, is_compound: bool) -> int:
    if parts == 1:
        return 0
    is_in_three = parts in (3, 6, 12, 24)
    if is_in_three or parts in (2, 4, 8, 16, 32):
        return 1 if is_in_three == is_compound else 2
    return 3


def _block(
    follows: Mapping[str, Mapping[str, int]], kind: str
) -> tuple[list[Pattern], NDArray[np.float64], NDArray[np.float64]]:
    """Patterns of one kind of beat, shares of each alone, and after each other."""
    weight: dict[Pattern, float] = {}
    for pattern, seen in _possible(kind):
        weight[pattern] = max(weight.get(pattern, 0.0), seen)
    for first in (name for row in follows.values() for name in (*row, *follows)):
        weight.setdefault(pattern_from_name(first), 0.0)
    patterns = sorted(weight, key=lambda pattern: (len(pattern), pattern))
    row_of = {pattern_name(pattern): row for row, pattern in enumerate(patterns)}
    seen_after = np.zeros((len(patterns), len(patterns)))
    for name, row in follows.items():
        for after, count in row.items():
            seen_after[row_of[name], row_of[after]] = count
    alone = np.array([weight[pattern] for pattern in patterns]) + seen_after.sum(axis=0)
    alone = np.maximum(alone, 1e-4) / alone.sum()
    # A rhythm nobody has counted is at least as likely to come again as any other is to come.
    seen_after[np.diag_indices(len(patterns))] += _PRIOR_WEIGHT / 4
    total = seen_after.sum(axis=1, keepdims=True) + _PRIOR_WEIGHT
    return patterns, alone, (seen_after + _PRIOR_WEIGHT * alone) / total


def _possible(kind: str) -> Iterator[tuple[Pattern, float]]:
    yield (), 1.0
    for parts, seen in _SUBSETS[kind].items():
        for size in range(1, parts + 1):
            for chosen in combinations(range(parts), size):
                yield tuple(Fraction(k, parts) for k in chosen), seen / parts
    for parts in range(1, MOST_SLOTS + 1):
        seen = _EVEN.get(parts, _EVEN_RARE)
        yield tuple(Fraction(k, parts) for k in range(parts)), seen
        yield tuple(Fraction(k, parts) for k in range(1, parts)), seen / 10
