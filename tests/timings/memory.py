"""Peak memory of reading and reviewing, each in a process of its own.

`python -m tests.timings.memory WHAT FILE` prints the peak before and after, in MB.
"""

from __future__ import annotations

import json
import resource
import subprocess
import sys
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
REVIEW = "whole review"


@dataclass(frozen=True)
class Peak:
    """MB: the program with its libraries alone, and the most it came to."""

    libraries_mb: float
    most_mb: float

    @property
    def added_mb(self) -> float:
        """What the file itself asked for."""
        return self.most_mb - self.libraries_mb


def measure_peak(what: str, file: Path) -> Peak:
    """Peak memory of a reader, or of the whole review, in a fresh process."""
    done = subprocess.run(
        [sys.executable, "-m", "tests.timings.memory", what, str(file)],
        cwd=ROOT, capture_output=True, text=True, check=True,
    )  # fmt: skip
    return Peak(*json.loads(done.stdout))


def _peak_mb() -> float:
    status = Path("/proc/self/status")
    if status.exists():
        # A child takes its parent's peak over into getrusage; this one is its own.
        for line in status.read_text().splitlines():
            if line.startswith("VmHWM"):
                return int(line.split()[1]) / 1000
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1000


def _runs() -> Mapping[str, Callable[[Path], object]]:
    from tests.timings.readers import READERS
    from tests.timings.reviewing import whole_review

    return {**{name: reader.load for name, reader in READERS.items()}, REVIEW: whole_review}


def _main(what: str, file: Path) -> None:
    run = _runs()[what]
    before = _peak_mb()
    kept = run(file)
    sys.stdout.write(json.dumps([before, _peak_mb()]))
    del kept


if __name__ == "__main__":
    _main(sys.argv[1], Path(sys.argv[2]))
