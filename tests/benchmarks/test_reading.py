import io
import time
from collections.abc import Callable

import mido
import pytest

from mockcheck.read import read_bytes
from tests.benchmarks.dense_mockup import dense_mockup

LEAST_RATIO = 5.0


def shortest_s(run: Callable[[], object], times: int) -> float:
    found = []
    for _ in range(times):
        begin = time.perf_counter()
        run()
        found.append(time.perf_counter() - begin)
    return min(found)


@pytest.mark.slow
@pytest.mark.parametrize("running", [False, True], ids=["full status", "running status"])
def test_reading_is_several_times_faster_than_mido(running: bool) -> None:
    data = dense_mockup(running=running)
    score = read_bytes(data, "dense.mid")
    assert score.event_count == sum(len(t) for t in mido.MidiFile(file=io.BytesIO(data)).tracks)
    assert sum(len(track.notes) for track in score.tracks) == 4650
    ours = shortest_s(lambda: read_bytes(data, "dense.mid"), 5)
    theirs = shortest_s(lambda: mido.MidiFile(file=io.BytesIO(data)), 2)
    assert theirs / ours > LEAST_RATIO, f"{theirs:.2f} s against {ours:.2f} s"
