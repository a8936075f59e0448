"""`python -m tests.timings` measures everything side by side and writes reports/timings.md.

Some four minutes on an idle machine. MOCKCHECK_REAL_MIDI names a folder of real files to read.
"""

from __future__ import annotations

import argparse
import os
import platform
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path

from tests.timings.commands import measure_commands
from tests.timings.growing import axes, measure_growth
from tests.timings.measuring import timed_in_turn
from tests.timings.memory import REVIEW, measure_peak
from tests.timings.music import dense, real_files, write_sizes
from tests.timings.readers import MIDO, READERS
from tests.timings.report import NOISE, Machine, Measured, limits, render
from tests.timings.reviewing import whole_review

ROOT = Path(__file__).parents[2]
TARGET = ROOT / "reports" / "timings.md"
DENSE_ROUNDS, ROUNDS, COMMAND_ROUNDS, GROWTH_ROUNDS = 5, 7, 3, 3
_DENSE_BYTES = 500_000
_STARTED = time.perf_counter()

Seconds = dict[str, list[float]]


def _say(text: str) -> None:
    sys.stderr.write(f"{time.perf_counter() - _STARTED:6.1f} s  {text}\n")


def measure(folder: Path) -> Measured:
    """One run of everything, in `folder`."""
    load_before = os.getloadavg()[0]
    _say("commands")
    commands = measure_commands(folder, COMMAND_ROUNDS)
    real = real_files()
    files = {**write_sizes(folder), **real.chosen}
    densest = next(path for name, path in files.items() if name.startswith("dense"))
    _say("memory")
    memory = {what: measure_peak(what, densest) for what in (*READERS, REVIEW)}
    _say("reading")
    contents = {
        name: {reader: one.content(one.load(path)) for reader, one in READERS.items()}
        for name, path in files.items()
    }
    reading = {name: _time_readers(path) for name, path in files.items()}
    _say("whole reviews")
    noise = folder / "noise.mid"
    noise.write_bytes(dense(drawn=False))
    review = {
        "dense, drawn curves": _time_review(densest, DENSE_ROUNDS),
        NOISE: _time_review(noise, 1),
    }
    grown = []
    for axis in axes():
        _say(f"growth with {axis.name}")
        grown.append(measure_growth(axis, folder, GROWTH_ROUNDS))
    machine = Machine(
        os.cpu_count() or 1, platform.python_version(), load_before, os.getloadavg()[0]
    )
    return Measured(machine, commands, reading, contents, real, review, memory, grown)


def _time_readers(path: Path) -> Seconds:
    rounds = DENSE_ROUNDS if path.stat().st_size > _DENSE_BYTES else ROUNDS
    runs: dict[str, Callable[[], object]] = {
        name: partial(reader.load, path) for name, reader in READERS.items()
    }
    return timed_in_turn(runs, rounds)


def _time_review(path: Path, rounds: int) -> tuple[Sequence[float], Sequence[float]]:
    sides: dict[str, Callable[[], object]] = {
        MIDO: partial(READERS[MIDO].load, path), REVIEW: partial(whole_review, path)
    }  # fmt: skip
    seconds = timed_in_turn(sides, rounds)
    return seconds[MIDO], seconds[REVIEW]


def main() -> int:
    """Measure and write; 1 when a limit does not hold."""
    parser = argparse.ArgumentParser(
        prog="python -m tests.timings", description=__doc__,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )  # fmt: skip
    parser.add_argument("--to", type=Path, default=TARGET, help="file to write (%(default)s)")
    chosen = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        measured = measure(Path(folder))
    chosen.to.write_text(render(measured), encoding="utf-8")
    _say(f"written: {chosen.to.name}")
    return int(not all(limit.holds for limit in limits(measured)))


if __name__ == "__main__":
    sys.exit(main())
