"""Searches over plain lists of pitches, for the tests of the search."""

from collections.abc import Sequence

import numpy as np
from hypothesis import strategies as st
from numpy.typing import NDArray

from mockcheck.infer.search import Line, Search, prepare
from mockcheck.instruments import instrument
from mockcheck.playing.fingerboard import Fingerboard, fingerboard
from mockcheck.playing.hand import Hand, hand_for
from mockcheck.playing.times import MotionTimes

TIMES = MotionTimes()
BOARDS = {
    name: fingerboard(instrument(name)) for name in ("violin", "viola", "cello", "double bass")
}


def search_of(
    pitches: Sequence[int | tuple[int, ...]],
    gaps_s: float | NDArray[np.float64],
    stroke: str = "slurred",
    board: Fingerboard = BOARDS["violin"],
    hand: Hand | None = None,
    times: MotionTimes = TIMES,
) -> Search:
    events = [(p,) if isinstance(p, int) else p for p in pitches]
    steps = np.broadcast_to(gaps_s, len(events) - 1)
    onset_s = np.concatenate([[0.0], np.cumsum(steps)])
    line = Line(events, onset_s, [stroke] * len(events))
    return prepare(board, hand or hand_for(board.string_length_mm), line, times)


lines = st.lists(st.integers(55, 88), min_size=3, max_size=14)
gap_lists = st.lists(st.floats(0.03, 0.6), min_size=13, max_size=13)
