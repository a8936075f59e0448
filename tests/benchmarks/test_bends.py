import json
import subprocess
import sys
from pathlib import Path

import pytest

from mockcheck.pipeline import review
from tests.benchmarks.dense_bends import dense_bends

ROOT = Path(__file__).parent.parent.parent
MOST_ADDED = 0.3


@pytest.mark.slow
@pytest.mark.parametrize("slide_every", [0, 3], ids=["vibrato", "vibrato and slides"])
def test_half_a_million_bends_add_little_to_a_review(slide_every: int, tmp_path: Path) -> None:
    bent, silent = tmp_path / "bent.mid", tmp_path / "silent.mid"
    bent.write_bytes(dense_bends(slide_every=slide_every))
    silent.write_bytes(dense_bends(as_controller=True))
    slides = sum(len(part.slides) for part in review(bent).played.parts)
    assert (slides > 100) == (slide_every > 0)
    timed = subprocess.run(
        [sys.executable, "-m", "tests.benchmarks.review_seconds", str(bent), str(silent)],
        cwd=ROOT, capture_output=True, text=True, check=True,
    )  # fmt: skip
    with_bends_s, without_s = json.loads(timed.stdout)
    added = with_bends_s / without_s - 1
    assert added <= MOST_ADDED, f"{added:.0%} of the review"
