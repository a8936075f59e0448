"""Remakes reports/sample: the review of the demo as a user gets it.

`python -m tests.sample` writes it; tests/test_sample.py compares.
"""

from __future__ import annotations

import sys
from pathlib import Path

from mockcheck.pipeline import review
from mockcheck.plots import save_plots
from mockcheck.plots.notation import save_notation
from mockcheck.report.review_json import render_json
from mockcheck.report.tables import write_tables
from mockcheck.report.terminal import render_terminal

ROOT = Path(__file__).parent.parent
DEMO = ROOT / "fixtures" / "demo"
SAMPLE = ROOT / "reports" / "sample"


def write_texts(folder: Path) -> None:
    """The summary, review.json and the tables of the demo."""
    result = review(DEMO / "harbour_at_dawn.mid", DEMO / "brief.toml")
    folder.mkdir(parents=True, exist_ok=True)
    summary = render_terminal(result, colour=False, width=100) + "\n"
    (folder / "summary.txt").write_text(summary, encoding="utf-8")
    (folder / "review.json").write_text(render_json(result), encoding="utf-8")
    write_tables(result, folder)


def write_pictures(folder: Path) -> None:
    """The plots of the demo, and its badly read bars engraved."""
    result = review(DEMO / "harbour_at_dawn.mid", DEMO / "brief.toml")
    save_plots(result, folder / "plots")
    save_notation(result, folder / "notation")


if __name__ == "__main__":
    write_texts(SAMPLE)
    write_pictures(SAMPLE)
    sys.stdout.write(f"written to {SAMPLE.relative_to(ROOT)}\n")
