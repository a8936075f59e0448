"""How tight each window of a part is, solved once; every tempo and level only scales it."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.fingering import BURST_EVENTS, SUSTAINED_EVENTS, solve
from mockcheck.infer.headroom import time_factor
from mockcheck.infer.lines import PlayerLine, player_line
from mockcheck.infer.search import prepare
from mockcheck.model.played import PlayedPart
from mockcheck.plan._places import Place, places_between
from mockcheck.playing.times import MotionTimes

_JUST_ABOVE = (1.0005, 1.02, 1.1)
_TOLERANCE = 1e-6


@dataclass(frozen=True)
class Windows:
    """Every window of one part: time needed over time available, as written, at its level.

    Parameters
    ----------
    player
        What one player reads.
    first, moves
        First event of each window and its number of movements, shape (windows,).
    ratio
        Best possible worst ratio of each window, shape (windows,).
    tight_event
        The event before each window's worst movement on the printed path, shape (windows,).
    path_ratio
        Ratio of each movement on the printed path, shape (events - 1,).
    """

    part: PlayedPart
    player: PlayerLine
    first: NDArray[np.int64]
    moves: NDArray[np.int64]
    ratio: NDArray[np.float64]
    tight_event: NDArray[np.int64]
    path_ratio: NDArray[np.float64]

    def covered(self, factor: float, gone: Collection[int] = ()) -> NDArray[np.bool_]:
        """Events inside a window that does not go at `factor` times the tempo, shape (events,).

        Windows with a note in `gone` do not count.
        """
        edges = np.zeros(len(self.player.notes) + 1, np.int64)
        hard = (self.ratio * factor > 1 + _TOLERANCE) & self._clear_of(gone)
        np.add.at(edges, self.first[hard], 1)
        np.add.at(edges, (self.first + self.moves + 1)[hard], -1)
        return np.cumsum(edges[:-1]) > 0

    def _clear_of(self, gone: Collection[int]) -> NDArray[np.bool_]:
        """Windows without any of these notes, shape (windows,)."""
        barred = [any(note in gone for note in notes) for notes in self.player.notes]
        before = np.concatenate([[0], np.cumsum(barred)])
        is_clear: NDArray[np.bool_] = before[self.first + self.moves + 1] == before[self.first]
        return is_clear

    def move_ratio(self) -> NDArray[np.float64]:
        """How tight each movement is, shape (events - 1,).

        A window counts where its worst movement is; elsewhere a movement is as tight as on the
        printed path, but no tighter than the bursts around it have to be.
        """
        size = len(self.path_ratio)
        moves = int(self.moves[0])
        bursts = self.ratio[: size - moves + 1]
        padded = np.pad(bursts, moves - 1)
        around = np.lib.stride_tricks.sliding_window_view(padded, moves).max(axis=1)
        ratio: NDArray[np.float64] = np.minimum(self.path_ratio, around)
        np.maximum.at(ratio, self.tight_event, self.ratio)
        return ratio

    def notes_of(self, first: int, after: int) -> NDArray[np.int64]:
        """Note indices of a stretch of events, rising."""
        members = {note for notes in self.player.notes[first:after] for note in notes}
        return np.array(sorted(members), np.int64)

    def tightest(self, gone: Collection[int] = ()) -> Place | None:
        """The place that decides how fast the part can go, if the notes in `gone` do not count.

        None where nothing is left to decide anything.
        """
        open_windows = np.flatnonzero((self.ratio > 0) & self._clear_of(gone))
        if not len(open_windows):
            return None
        worst = int(open_windows[self.ratio[open_windows].argmax()])
        first = int(self.first[worst])
        notes = self.notes_of(first, first + int(self.moves[worst]) + 1)
        for above in _JUST_ABOVE:
            factor = above / float(self.ratio[worst])
            places = places_between(self.part, int(notes[0]), int(notes[-1]) + 1, factor, gone)
            if places:
                # The window knows its neighbours; an excerpt loses them at its edges.
                place = min(places, key=lambda place: place.headroom)
                return place.scaled(1 / float(self.ratio[worst]) / place.headroom)
        return None


def windows_of(part: PlayedPart, fastest: float) -> Windows | None:
    """Solve every window of a part once; exact wherever it comes near the limit at `fastest`.

    None for a part without strings of its own or with fewer than two events.
    """
    player = player_line(part)
    if player is None or len(player.line.events) < 2:
        return None
    search = prepare(player.board, player.hand, player.line, MotionTimes())
    solution = solve(search, time_factor(part.session) * fastest)
    path_ratio = solution.ratio / fastest
    pieces = list(_pieces(path_ratio, (solution.burst, solution.sustained)))
    first, moves, ratio, tight = (np.concatenate(column) for column in zip(*pieces, strict=True))
    return Windows(part, player, first, moves, ratio / fastest, tight, path_ratio)


def _pieces(
    path_ratio: NDArray[np.float64], solved: tuple[NDArray[np.float64], NDArray[np.float64]]
) -> Iterator[tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.float64], NDArray[np.int64]]]:
    for ratio, events in zip(solved, (BURST_EVENTS, SUSTAINED_EVENTS), strict=True):
        moves = min(events - 1, len(path_ratio))
        first = np.arange(len(ratio), dtype=np.int64)
        inside = np.lib.stride_tricks.sliding_window_view(path_ratio, moves).argmax(axis=1)
        yield first, np.full(len(ratio), moves, np.int64), ratio, first + inside
