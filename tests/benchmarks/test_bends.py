import time
from pathlib import Path

import pytest

from mockcheck.pipeline import review
from tests.benchmarks.dense_bends import dense_bends

MOST_ADDED = 0.3


def seconds(path: Path) -> float:
    """Seconds of the processor, since other programs may be busy too."""
    begin = time.process_time()
    review(path)
    return time.process_time() - begin


def share_added(bent: Path, silent: Path, rounds: int = 6) -> float:
    """The two in turn, so that a busy moment meets both; of each the quickest counts."""
    pairs = [(seconds(bent), seconds(silent)) for _ in range(rounds)]
    return min(first for first, _ in pairs) / min(second for _, second in pairs) - 1


@pytest.mark.slow
@pytest.mark.parametrize("slide_every", [0, 3], ids=["vibrato", "vibrato and slides"])
def test_half_a_million_bends_add_little_to_a_review(slide_every: int, tmp_path: Path) -> None:
    bent, silent = tmp_path / "bent.mid", tmp_path / "silent.mid"
    bent.write_bytes(dense_bends(slide_every=slide_every))
    silent.write_bytes(dense_bends(as_controller=True))
    slides = sum(len(part.slides) for part in review(bent).played.parts)
    assert (slides > 100) == (slide_every > 0)
    added = share_added(bent, silent)
    assert added <= MOST_ADDED, f"{added:.0%} of the review"
