"""Counts which rhythm of a beat follows which, and writes what infer/rhythm_patterns.py reads.

`MOCKCHECK_QUARTETS=FOLDER python -m tests.reading.learn_rhythm` counts half of the composers of the
open quartets (CC0); `python -m tests.reading.rhythm_figures` reports both halves.
"""

from __future__ import annotations

import json
import sys
from collections import Counter
from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path

import numpy as np

from mockcheck.infer.rhythm_patterns import pattern_name
from tests.reading.printed_rhythm import PrintedRhythm, halves

COUNTS = Path(__file__).parent.parent.parent / "mockcheck" / "infer" / "rhythm_counts.json"
_FINEST = 16
_TICKS_OFF = 1.01


def count(works: Sequence[PrintedRhythm]) -> dict[str, dict[str, dict[str, int]]]:
    """Kind of beat, rhythm, next rhythm of the same part: how often."""
    seen: dict[str, dict[str, Counter[str]]] = {"simple": {}, "compound": {}}
    for work in works:
        kinds = work.grid.is_compound
        for part in work.onsets:
            names = _rhythms(work, part)
            for beat in range(len(names) - 1):
                here, after = names[beat], names[beat + 1]
                if kinds[beat] != kinds[beat + 1] or here is None or after is None:
                    continue
                kind = "compound" if kinds[beat] else "simple"
                seen[kind].setdefault(here, Counter())[after] += 1
    return {
        kind: {name: dict(sorted(after.items())) for name, after in sorted(rows.items())}
        for kind, rows in seen.items()
    }


def _rhythms(work: PrintedRhythm, part: str) -> list[str | None]:
    """The rhythm of each beat; None where a place is no fraction that anybody reads."""
    grid = work.grid
    ticks = np.unique(work.onsets[part])
    beat = np.maximum(np.searchsorted(grid.ticks, ticks + 0.5, side="right") - 1, 0)
    places: list[list[Fraction]] = [[] for _ in range(len(grid))]
    is_odd = np.zeros(len(grid), np.bool_)
    for tick, row in zip(ticks.tolist(), beat.tolist(), strict=True):
        unit = int(grid.unit_ticks[row])
        exact = Fraction(int(tick - grid.ticks[row]), unit)
        place = exact.limit_denominator(_FINEST)
        is_odd[row] |= abs(place - exact) * unit > _TICKS_OFF or not 0 <= place < 1
        places[row].append(place)
    return [
        None if odd else pattern_name(tuple(places[row])) for row, odd in enumerate(is_odd.tolist())
    ]


def main() -> None:
    """Count and write."""
    learnt, _ = halves()
    rows = [f"{json.dumps(kind)}: {json.dumps(after)}" for kind, after in count(learnt).items()]
    COUNTS.write_text("{\n" + ",\n".join(rows) + "\n}\n", encoding="utf-8")
    sys.stdout.write(f"{len(learnt)} works counted\n")


if __name__ == "__main__":
    main()
