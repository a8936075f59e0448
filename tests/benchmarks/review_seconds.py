"""`python -m tests.benchmarks.review_seconds A B` prints the least seconds of reviewing each file.

A process of its own, so that no coverage tracer is timed with the product.
"""

from __future__ import annotations

import json
import sys
import time
from collections.abc import Sequence
from pathlib import Path

from mockcheck.pipeline import review

ROUNDS = 6


def least_seconds(paths: Sequence[Path]) -> list[float]:
    """Seconds of the processor; the files in turn, so that a busy moment meets all of them."""
    rounds = [[_seconds(path) for path in paths] for _ in range(ROUNDS)]
    return [min(times) for times in zip(*rounds, strict=True)]


def _seconds(path: Path) -> float:
    begin = time.process_time()
    review(path)
    return time.process_time() - begin


if __name__ == "__main__":
    sys.stdout.write(json.dumps(least_seconds([Path(name) for name in sys.argv[1:]])))
