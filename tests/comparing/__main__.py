"""`python -m tests.comparing [COUNT]`: figures of as many trials, the half not tuned on last."""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Mapping

from tests.comparing.figures import Figures, measure

COUNT = 200
_COLUMNS = (
    "trials",
    "decisions",
    "right",
    "truly fixed",
    "truly new",
    "told new, wrongly",
    "same music",
    "same music, id kept",
    "same music, accepted",
    "changed music",
    "changed music, accepted",
    "gone",
    "gone, yet accepted",
    "another one accepted",
)


def table(title: str, by_kind: Mapping[str, Figures]) -> str:
    """One half as Markdown, a row for each kind of edit and one for all."""
    every: Figures = sum(by_kind.values(), Counter())
    head = f"## {title}\n\n| edit | share right | {' | '.join(_COLUMNS)} |\n"
    rule = "| --- " * (len(_COLUMNS) + 2) + "|\n"
    return head + rule + "".join(_row(kind, row) for kind, row in {**by_kind, "all": every}.items())


def _row(kind: str, figures: Figures) -> str:
    share = figures["right"] / max(figures["decisions"], 1)
    return f"| {kind} | {share:.1%} | {' | '.join(str(figures[name]) for name in _COLUMNS)} |\n"


def main() -> None:
    """Measure and print."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else COUNT
    for title, first in (("Tuned on", 0), ("Reported", 1)):
        sys.stdout.write(table(title, measure(range(first, count, 2))) + "\n")


if __name__ == "__main__":
    main()
