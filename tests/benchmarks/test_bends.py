import time
from pathlib import Path

import pytest

from mockcheck.pipeline import review
from tests.benchmarks.dense_bends import dense_bends

MOST_ADDED = 0.3


def shortest_s(path: Path, times: int) -> float:
    """Seconds of the processor, since other programs may be busy too."""
    found = []
    for _ in range(times):
        begin = time.process_time()
        review(path)
        found.append(time.process_time() - begin)
    return min(found)


@pytest.mark.slow
@pytest.mark.parametrize("slide_every", [0, 3], ids=["vibrato", "vibrato and slides"])
def test_half_a_million_bends_add_little_to_a_review(slide_every: int, tmp_path: Path) -> None:
    bent, silent = tmp_path / "bent.mid", tmp_path / "silent.mid"
    bent.write_bytes(dense_bends(slide_every=slide_every))
    silent.write_bytes(dense_bends(as_controller=True))
    slides = sum(len(part.slides) for part in review(bent).played.parts)
    assert (slides > 100) == (slide_every > 0)
    added = shortest_s(bent, 4) / shortest_s(silent, 4) - 1
    assert added <= MOST_ADDED, f"{added:.0%} of the review"
