import time
import tracemalloc

import numpy as np
import pytest

from mockcheck.infer.fingering import solve
from mockcheck.infer.search import Line, prepare
from mockcheck.instruments import instrument
from mockcheck.playing.fingerboard import fingerboard
from mockcheck.playing.hand import hand_for
from mockcheck.playing.times import MotionTimes

BOARD = fingerboard(instrument("violin"))


def random_walk(notes: int) -> Line:
    steps = np.random.default_rng(1).integers(-4, 5, notes)
    pitches = np.cumsum(steps) % 40 + 57
    events: list[tuple[int, ...]] = [(int(pitch),) for pitch in pitches]
    return Line(events, np.arange(notes) / 8, ["slurred"] * notes)


def seconds(notes: int) -> float:
    line = random_walk(notes)
    start = time.process_time()
    solve(prepare(BOARD, hand_for(BOARD.string_length_mm), line, MotionTimes()), 1.12)
    return time.process_time() - start


@pytest.mark.slow
def test_a_hundred_thousand_notes_take_less_than_five_seconds() -> None:
    seconds(1000)
    assert min(seconds(100_000) for _ in range(2)) < 5


@pytest.mark.slow
def test_time_and_memory_grow_with_the_notes() -> None:
    seconds(1000)
    few, many = (min(seconds(notes) for _ in range(2)) for notes in (10_000, 100_000))
    assert 8 < many / few < 12
    peaks = []
    for notes in (10_000, 100_000):
        line = random_walk(notes)
        tracemalloc.start()
        solve(prepare(BOARD, hand_for(BOARD.string_length_mm), line, MotionTimes()), 1.12)
        peaks.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()
    assert peaks[1] < 12 * peaks[0]
