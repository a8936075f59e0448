"""What every kind of mark in the parts is made of: a place, words, and how sure they are."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from mockcheck.model.played import PlayedPart
from mockcheck.model.time import Location
from mockcheck.params import Params, quantity


class PageParams(Params):
    """What is sure enough for the page, and what is one mark."""

    sure: float = quantity(
        0.8,
        unit="confidence",
        low=0,
        high=1,
        meaning="less sure marks become questions; of a hundred marks so sure about twenty are"
        " wrong at most",
    )
    dynamics_sure: float = quantity(
        0.6,
        unit="confidence",
        low=0,
        high=1,
        meaning="what carries the dynamics; two controllers drawn alike say the same and share"
        " 0.65, a value that never moves has 0.5",
    )
    most_dynamics: float = quantity(
        0.7,
        unit="dynamics and hairpins a bar",
        low=0.1,
        high=4,
        meaning="what changes more often is no dynamic that is written",
        source="from memory",
    )
    least_change_s: float = quantity(
        1,
        unit="s",
        low=0,
        high=10,
        meaning="pizzicato, mute or place of the bow that is interrupted for less goes on: nobody"
        " changes and comes back so fast",
        source="common practice, no source",
    )
    frames_bar_s: float = quantity(
        2,
        unit="s",
        low=0.5,
        high=30,
        meaning="stands for a bar in a file that counts frames",
    )


PAGE = PageParams()
KINDS = ("colour", "stroke", "bow", "divisi", "harmonic", "slide", "dynamics")
"""Kinds of marks, in the order in which they stand at one place."""


@dataclass(frozen=True)
class Mark:
    """One mark in one part.

    Parameters
    ----------
    kind
        One of `KINDS`.
    onset_ticks, release_ticks
        From where to where it holds.
    words
        What to write; of an unsure mark the question to ask.
    confidence
        0-1.
    is_sure
        Whether it goes on the page; else it is a question.
    """

    kind: str
    onset_ticks: int
    release_ticks: int
    words: str
    confidence: float
    is_sure: bool = True


@dataclass(frozen=True)
class PartBars:
    """The bars in which a part plays; arrays of shape (n,) for its n notes.

    Parameters
    ----------
    bar
        Bar of each note, as players name it.
    turn
        Number of that bar among those in which the part plays.
    """

    bar: NDArray[np.int64]
    turn: NDArray[np.int64]


def bars_of(part: PlayedPart) -> PartBars:
    """Where the notes of a part stand; a file that counts frames is cut into short stretches."""
    ticks, place = np.unique(part.notes.onset_ticks, return_inverse=True)
    bars = np.array([_bar(part.locate_onset(tick)) for tick in ticks.tolist()], np.int64)
    _, turn = np.unique(bars, return_inverse=True)
    return PartBars(bars[place], turn[place].astype(np.int64))


def _bar(place: Location) -> int:
    return int(place.time_s / PAGE.frames_bar_s) if place.bar is None else place.bar


def mark_of(
    part: PlayedPart,
    rows: Sequence[int] | NDArray[np.int64],
    kind: str,
    words: tuple[str, str],
    confidence: float,
) -> Mark:
    """A mark over some notes: the first of the words where it is sure, else the other."""
    is_sure = confidence >= PAGE.sure
    own = np.asarray(rows)
    return Mark(
        kind,
        int(part.notes.onset_ticks[own].min()),
        int(part.notes.release_ticks[own].max()),
        words[0] if is_sure else words[1],
        confidence,
        is_sure,
    )


def in_turns(rows: Iterable[int], bars: PartBars) -> Iterator[list[int]]:
    """Rows of notes cut where a bar that the part plays has none of them."""
    own = list(rows)
    cuts = [
        place
        for place, (before, after) in enumerate(pairwise(own), start=1)
        if bars.turn[after] > bars.turn[before] + 1
    ]
    for first, last in pairwise([0, *cuts, len(own)]):
        if own[first:last]:
            yield own[first:last]


def in_time(
    rows: NDArray[np.int64], others: NDArray[np.int64], part: PlayedPart
) -> list[list[int]]:
    """Rows of notes cut where others come between them for long enough to change something."""
    runs: list[list[int]] = []
    onset_s, release_s = part.notes.onset_s, part.notes.release_s
    between = np.searchsorted(others, rows)
    for place, row in enumerate(rows.tolist()):
        is_cut = place == 0 or (
            between[place] > between[place - 1]
            and onset_s[row] - release_s[rows[place - 1]] >= PAGE.least_change_s
        )
        if is_cut:
            runs.append([])
        runs[-1].append(row)
    return runs
