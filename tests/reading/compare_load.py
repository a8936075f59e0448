"""The reading load beside what the trade expects of published quartets.

`MOCKCHECK_QUARTETS=FOLDER python -m tests.reading.compare_load` prints the mean load of the bars of
each work in which something begins, by composer, and in how many of all pairs a work taken as easy
(chorales and a trio sonata, Haydn's opus 1, Mozart's first quartets) lies below one taken as hard
(late Beethoven, Bartok, Ravel, Schulhoff, Janacek). The expectation is common practice, no source.
No number of the load was set on these works.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from mockcheck.model.played import PlayedScore
from mockcheck.pipeline import play
from mockcheck.read import load
from tests.accuracy.corpus import cache_folder, music21_works, open_quartets

EASY = ("bach/", "corelli/", "haydn/opus1no1", "mozart/k80", "mozart/k155", "mozart/k156")
HARD = (
    "beethoven/opus132",
    "beethoven/opus133",
    "Beethoven, Grosse Fuge",
    "Bartók",
    "Ravel",
    "Janáček",
    "Schulhoff",
)


@dataclass(frozen=True)
class WorkLoad:
    """Mean and 95th percentile of the load of a work's bars."""

    name: str
    mean: float
    high: float


def loads_of(played: PlayedScore) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """Loads of all bars of all parts in which something begins."""
    columns = [part.reading.load for part in played.parts if part.reading is not None]
    every = np.concatenate([np.empty(0), *columns])
    return every[every > 0]


def work_load(name: str, path: Path) -> WorkLoad | None:
    """The load of one file; None where its rhythm is not written."""
    loads = loads_of(play(load(path), {"level": "solo"}))
    if not len(loads):
        return None
    return WorkLoad(name, float(loads.mean()), float(np.quantile(loads, 0.95)))


def share_in_order(works: Sequence[WorkLoad]) -> tuple[int, int]:
    """Pairs of an easy and a hard work in the expected order, and all such pairs."""
    easy = [work.mean for work in works if work.name.startswith(EASY)]
    hard = [work.mean for work in works if work.name.startswith(HARD)]
    return sum(one < other for one in easy for other in hard), len(easy) * len(hard)


def main() -> None:
    """Print the comparison."""
    with cache_folder() as folder:
        works = [*music21_works(folder), *open_quartets()]
        found = [work_load(work.name, work.path) for work in works]
    told = sorted((work for work in found if work), key=lambda work: work.mean)
    for work in told:
        group = "easy" if work.name.startswith(EASY) else ""
        group = "hard" if work.name.startswith(HARD) else group
        sys.stdout.write(f"{work.mean:.3f} (95th {work.high:.3f}) {work.name} {group}\n")
    right, pairs = share_in_order(told)
    sys.stdout.write(f"in the expected order: {right} of {pairs} pairs\n")


if __name__ == "__main__":
    main()
