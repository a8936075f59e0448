"""`python -m tests.figures` measures everything the reports say, in one command.

Accuracy and timings write their own tables, `reports/accuracy.md` and `reports/timings.md`; what
the others print goes to `reports/measured/NAME.txt`. Takes most of an hour on two idle processors.
The figures of real files and open quartets need MOCKCHECK_REAL_MIDI and MOCKCHECK_QUARTETS.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).parent.parent
MEASURED = ROOT / "reports" / "measured"

COMMANDS = {
    "timings": ("tests.timings",),
    "accuracy": ("tests.accuracy",),
    "listening": ("tests.listening", "--half", "report"),
    "comparing": ("tests.comparing", "200"),
    "reading load": ("tests.reading.compare_load",),
    "spelling": ("tests.reading.compare_spelling",),
    "rhythm": ("tests.reading.rhythm_figures",),
}
"""Timings first, while the machine is cool."""
WRITES_ITS_OWN = ("timings", "accuracy")


def measure(name: str) -> bool:
    """Run one command, keep what it prints, and say whether it ended well."""
    command = COMMANDS[name]
    sys.stderr.write(f"{name}: python -m {' '.join(command)}\n")
    started = time.perf_counter()
    done = subprocess.run(
        [sys.executable, "-m", *command], cwd=ROOT, stdout=subprocess.PIPE, text=True, check=False
    )
    sys.stderr.write(f"{name}: {time.perf_counter() - started:.0f} s, exit {done.returncode}\n")
    if name not in WRITES_ITS_OWN and done.returncode == 0:
        MEASURED.mkdir(parents=True, exist_ok=True)
        target = MEASURED / f"{name.replace(' ', '_')}.txt"
        head = f"python -m {' '.join(command)}\n\n"
        target.write_text(head + done.stdout, encoding="utf-8")
    return done.returncode == 0


def main() -> None:
    """Measure what is named, or everything; 1 if anything failed."""
    options = argparse.ArgumentParser(prog="python -m tests.figures", description=__doc__)
    options.add_argument("names", nargs="*", choices=[*COMMANDS, []], help="[default: all]")
    names = options.parse_args().names or list(COMMANDS)
    ended_well = [measure(name) for name in names]
    raise SystemExit(0 if all(ended_well) else 1)


if __name__ == "__main__":
    main()
