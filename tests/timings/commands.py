"""Commands as a user types them, timed by the clock and by the processor."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path

from tests.timings.measuring import Spread

DEMO = Path(__file__).parents[2] / "fixtures" / "demo"
HELP = "`mockcheck --help`"
WHOLE_DEMO = "review of the demo with `--out` and `--notation all`"


@dataclass(frozen=True)
class Timed:
    """What a user waits, and what the processor worked."""

    clock_s: Spread
    processor_s: Spread


def command_lines(folder: Path) -> dict[str, list[str]]:
    """What is timed, by what it is called in the report."""
    review = [str(DEMO / "harbour_at_dawn.mid"), "--brief", str(DEMO / "brief.toml")]
    return {
        "Python alone": ["-c", "pass"],
        "`import mockcheck`": ["-c", "import mockcheck"],
        HELP: ["-m", "mockcheck", "--help"],
        "review of the demo, text only": ["-m", "mockcheck", "review", *review],
        WHOLE_DEMO: [
            "-m", "mockcheck", "review", *review, "--out", str(folder / "out"),
            "--notation", "all",
        ],
    }  # fmt: skip


def measure_commands(folder: Path, rounds: int) -> dict[str, Timed]:
    """Seconds of each command, in turn; one round before is not counted.

    That first one writes what Python keeps of its modules.
    """
    lines = command_lines(folder)
    seconds: dict[str, list[tuple[float, float]]] = {name: [] for name in lines}
    for number in range(rounds + 1):
        for name, arguments in lines.items():
            begin_s, before_s = time.perf_counter(), _children_s()
            subprocess.run([sys.executable, *arguments], capture_output=True, check=True)
            if number:
                taken = time.perf_counter() - begin_s, _children_s() - before_s
                seconds[name].append(taken)
    return {name: Timed(*map(Spread.of, zip(*rows, strict=True))) for name, rows in seconds.items()}


def _children_s() -> float:
    times = os.times()
    return times.children_user + times.children_system
