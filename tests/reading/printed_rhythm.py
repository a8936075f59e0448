"""Where the notes of published quartets stand in the beat.

The open quartets (CC0): fixtures/quartets, or all 26 where MOCKCHECK_QUARTETS names their folder.
Some of the files lose or gain ticks in groups of seven, whose length no whole number of ticks
gives, and in bars that are too short; from there on the notes of a part lie off the bar lines.
Where they do, their places are not known: `is_known` says so.
"""

from __future__ import annotations

import csv
import gzip
import os
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.beat_grid import find_beats
from mockcheck.model.score import Score
from mockcheck.model.written import BeatGrid
from mockcheck.read import load
from tests.accuracy.corpus import FIXTURES

_NEAR_TICKS = 6
_LEAST_SHARE = 0.4
"""Of notes anywhere a fifth is that near by chance; of demisemiquavers all through, half."""
_WINDOW_BARS = 4


@dataclass(frozen=True)
class PrintedRhythm:
    """One work: its file, and of every part the note onsets as printed.

    `onsets` are ticks by part, one a note, in the order of the file; `is_known` says of each
    whether its bar stands on the bar lines.
    """

    name: str
    composer: str
    score: Score
    grid: BeatGrid
    onsets: dict[str, NDArray[np.int64]]
    is_known: dict[str, NDArray[np.bool_]]


def halves() -> tuple[list[PrintedRhythm], list[PrintedRhythm]]:
    """Works to learn from and to report, no composer in both: every second composer."""
    works = printed_rhythms()
    learnt = set(sorted({work.composer for work in works})[::2])
    return (
        [work for work in works if work.composer in learnt],
        [work for work in works if work.composer not in learnt],
    )


def printed_rhythms() -> list[PrintedRhythm]:
    """The open quartets, in the order of their files."""
    folder = Path(os.environ.get("MOCKCHECK_QUARTETS", FIXTURES))
    index = folder / "INDEX.csv"
    composers: dict[str, str] = {}
    if index.exists():
        with index.open(encoding="utf-8", newline="") as lines:
            composers = {row["file"]: row["work"].split("/")[0] for row in csv.DictReader(lines)}
    return [
        _printed(path, composers.get(path.name, path.stem))
        for path in sorted(folder.glob("quartet_*.mid"))
    ]


def _printed(path: Path, composer: str) -> PrintedRhythm:
    score = load(path)
    rows: dict[str, list[tuple[int, str]]] = {}
    table = path.with_suffix("").with_suffix(".csv.gz")
    with gzip.open(table, "rt", encoding="utf-8") as lines:
        for row in csv.DictReader(lines):
            rows.setdefault(row["part"], []).append((int(row["onset_tick"]), row["bar"]))
    onsets = {part: np.array([tick for tick, _ in notes]) for part, notes in rows.items()}
    end = max(int(ticks.max()) for ticks in onsets.values())
    grid = find_beats(score.timeline, end)
    assert grid is not None
    is_known = {part: _is_known(ticks, grid) for part, ticks in onsets.items()}
    return PrintedRhythm(path.stem, composer, score, grid, onsets, is_known)


def _is_known(ticks: NDArray[np.int64], grid: BeatGrid) -> NDArray[np.bool_]:
    """Notes about which a fair share of the part lies on quarters or sixths of a beat."""
    beat = np.searchsorted(grid.ticks, ticks + _NEAR_TICKS, side="right") - 1
    past = ticks - grid.ticks[beat]
    is_near = np.zeros(len(ticks), np.bool_)
    for parts in (4, 6):
        step = grid.unit_ticks[beat] / parts
        is_near |= np.abs(past - np.rint(past / step) * step) <= _NEAR_TICKS
    bar = grid.bar_index[beat]
    bars = np.arange(int(bar.max()) + 1)
    near, notes = (
        np.concatenate([[0], np.cumsum(np.bincount(rows, minlength=len(bars)))])
        for rows in (bar[is_near], bar)
    )
    low, high = np.maximum(bars - _WINDOW_BARS, 0), np.minimum(bars + _WINDOW_BARS + 1, len(bars))
    stands: NDArray[np.bool_] = near[high] - near[low] >= _LEAST_SHARE * (notes[high] - notes[low])
    return stands[bar]
