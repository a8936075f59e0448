"""`python -m tests.listening` renders published quartets and prints how well they are heard."""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from pathlib import Path

from tests.listening.articulation_figures import ArticulationFigures
from tests.listening.chorales import chorales_text
from tests.listening.printed import LEARN, REPORT, sheets
from tests.listening.rendering import SEED
from tests.listening.slide_figures import SlideFigures
from tests.listening.voices import VoiceFigures


def main() -> None:
    """Render, listen, print."""
    options = argparse.ArgumentParser(prog="python -m tests.listening", description=__doc__)
    options.add_argument("--works", type=int, help="at most so many works of each half")
    options.add_argument("--half", choices=(LEARN, REPORT), help="one half of the composers only")
    options.add_argument("--seed", type=int, default=SEED, help="other players, plans and slides")
    chosen = options.parse_args()
    for half in (LEARN, REPORT) if chosen.half is None else (chosen.half,):
        sys.stdout.write(_figures(half, chosen.works, chosen.seed))
    sys.stdout.write(f"{chorales_text()}\n")


def _figures(half: str, most_works: int | None, seed: int) -> str:
    started = time.perf_counter()
    measures = (ArticulationFigures(), SlideFigures(), VoiceFigures())
    works = 0
    with tempfile.TemporaryDirectory(prefix="listening-") as folder:
        for sheet in sheets(half, most_works):
            for measure in measures:
                measure.measure(sheet, Path(folder), seed)
            works += 1
            sys.stderr.write(f"{time.perf_counter() - started:6.1f} s  {sheet.work}\n")
    head = f"Half '{half}': {works} works\n{'=' * 30}\n"
    tables = "\n".join(measure.text() for measure in measures)
    return f"{head}{tables}\n"


if __name__ == "__main__":
    main()
