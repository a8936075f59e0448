"""`python -m tests.fuzzing TARGET --minutes 10` looks for files that the product cannot bear.

A crash is an exception that is no UserError, a warning of Python's, a hang, or memory without
bounds. It exits with 1 when there was one, and says which file does it again:
`python -m tests.fuzzing TARGET --again FILE`. The engine is an extra: `pip install -e .[fuzz]`.
"""

from __future__ import annotations

import argparse
import shutil
import subprocess
import sys
import tempfile
import time
from importlib.util import find_spec
from pathlib import Path

from tests.fuzzing.tally import Tally, try_file
from tests.fuzzing.targets import TARGETS
from tests.fuzzing.worker import WORN_OUT

ROOT = Path(__file__).parents[2]
_GRACE_S = 120
_MOST_PROCESSES = 200


def fuzz(name: str, seconds: float, folder: Path) -> Tally:
    """Fuzz one target in processes of their own until the time is over."""
    total, end_s = Tally(), time.monotonic() + seconds
    for number in range(_MOST_PROCESSES):
        left_s = end_s - time.monotonic()
        if left_s <= 0:
            break
        tally_file = folder / f"tally-{number}.json"
        command = [sys.executable, "-m", "tests.fuzzing.worker", name, str(left_s), str(folder)]
        log = folder / f"log-{number}.txt"
        code = _run([*command, str(tally_file)], log, left_s + _GRACE_S)
        total.add(Tally.load(tally_file))
        if code == 0:
            break
        if code != WORN_OUT:
            _count_death(total, folder, log, code)
    return total


def _run(command: list[str], log: Path, longest_s: float) -> int | None:
    """The exit code; None where the process had to be stopped."""
    with log.open("wb") as stream:
        try:
            return subprocess.run(
                command, cwd=ROOT, stdout=stream, stderr=stream, check=False, timeout=longest_s
            ).returncode
        except subprocess.TimeoutExpired:
            return None


def _count_death(total: Tally, folder: Path, log: Path, code: int | None) -> None:
    """The engine ends the process at a hang, too much memory or a fault below Python."""
    # A slow unit is only a remark of the engine's.
    kept = [path for path in folder.glob("engine-[!s]*") if str(path) not in total.crashes.values()]
    for path in kept:
        kind = path.name.split("-")[1]
        total.crashes[f"process ended: {kind} ({path.name[-8:]})"] = str(path)
    if not kept:
        total.crashes["process stopped" if code is None else f"process ended with {code}"] = str(
            log
        )


def report(name: str, tally: Tally, seconds: float) -> str:
    """What was seen, in lines."""
    lines = [
        f"{name}: {tally.inputs:,} inputs in {seconds:.0f} s, {tally.read:,} of them readable,"
        f" {tally.used:,} used; the slowest took {tally.slowest_s:.2f} s.",
        f"{len(tally.behaviours)} distinct behaviours:",
        *(f"  {behaviour}" for behaviour in sorted(tally.behaviours)),
        f"{len(tally.crashes)} crashes{':' if tally.crashes else '.'}",
        *(f"  {fault}\n    {path}" for fault, path in tally.crashes.items()),
    ]
    return "\n".join(lines) + "\n"


def main() -> int:
    """Fuzz, or try one file again."""
    parser = argparse.ArgumentParser(
        prog="python -m tests.fuzzing", description=__doc__,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )  # fmt: skip
    parser.add_argument("target", choices=sorted(TARGETS))
    parser.add_argument("--minutes", type=float, default=10)
    parser.add_argument("--again", type=Path, metavar="FILE", help="try this one file and stop")
    chosen = parser.parse_args()
    if chosen.again:
        tally = Tally()
        fault = try_file(TARGETS[chosen.target], chosen.again, tally, goes_on=True)
        if fault:
            tally.crashes[fault] = str(chosen.again)
        sys.stdout.write(report(chosen.target, tally, tally.slowest_s))
        return int(bool(fault))
    if find_spec("atheris") is None:
        parser.error("the engine is missing: pip install -e .[fuzz]")
    folder = Path(tempfile.mkdtemp(prefix="mockcheck-fuzzing-"))
    tally = fuzz(chosen.target, 60 * chosen.minutes, folder)
    sys.stdout.write(report(chosen.target, tally, 60 * chosen.minutes))
    if tally.crashes:
        return 1
    shutil.rmtree(folder)
    return 0


if __name__ == "__main__":
    sys.exit(main())
