"""Published passages with a metronome mark, as figures of their rate and technique.

fixtures/reference/published_passages.csv names the source of every mark. The music itself is not
there, so a scale in the stroke of the row stands for it: over two octaves from the lowest string,
over one on the bass, whose strings a fourth apart make one octave what two are on the others.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from pathlib import Path

import numpy as np

from mockcheck.infer.fingering import solve
from mockcheck.infer.search import Line, prepare
from mockcheck.instruments import instrument
from mockcheck.playing.fingerboard import fingerboard
from mockcheck.playing.hand import hand_for
from mockcheck.playing.times import MotionTimes, uncertain_times

TABLE = Path(__file__).parent.parent.parent / "fixtures" / "reference" / "published_passages.csv"
MAJOR = (0, 2, 4, 5, 7, 9, 11)
ROOTS = {"violin": 55, "viola": 48, "cello": 36, "double bass": 28}


@dataclass(frozen=True)
class Passage:
    """One row of the table.

    `notes_per_s` is the mark's; where the table says that the mark contradicts the recordings,
    what they play.
    """

    work: str
    instruments: tuple[str, ...]
    is_section: bool
    technique: str
    notes_per_s: float
    is_at_its_mark: bool


@cache
def published_passages() -> tuple[Passage, ...]:
    """Every row, in the order of the table."""
    rows = csv.DictReader(TABLE.read_text(encoding="utf-8").splitlines())
    return tuple(
        Passage(
            work=row["work"],
            instruments=_instruments(row["instrument"].lower()),
            is_section=row["section_or_solo"].startswith("section"),
            technique=row["technique"].lower(),
            notes_per_s=_rate(row),
            is_at_its_mark=_rate(row) == float(row["notes_per_second"]),
        )
        for row in rows
    )


def _rate(row: dict[str, str]) -> float:
    is_contradicted = "contradicts" in row["notes"]
    rate = row["measured_notes_per_second"].split("-")[1] if is_contradicted else ""
    return float(rate.split()[0] if rate else row["notes_per_second"])


def _instruments(text: str) -> tuple[str, ...]:
    if text.startswith("all"):
        return ("violin", "viola", "cello") if "four" in text else tuple(ROOTS)
    named = [name for name in ("violin", "viola", "cello") if name in text]
    return (*named, "double bass") if "bass" in text else tuple(named)


def scale(root: int, octaves: int, steps: tuple[int, ...] = MAJOR) -> list[int]:
    up = [root + 12 * octave + step for octave in range(octaves) for step in steps]
    up.append(root + 12 * octaves)
    return up + up[-2::-1]


def figure(technique: str, name: str) -> tuple[list[int], list[str]]:
    """Notes and strokes of a passage described only by its technique."""
    root, octaves = ROOTS[name], 1 if name == "double bass" else 2
    pitches = scale(root, octaves)
    is_slurred = any(word in technique for word in ("slur", "legato", "ricochet", "rumble"))
    if "chromatic" in technique:
        pitches = [*range(root, root + 12 * octaves), *range(root + 12 * octaves, root, -1)]
    # Orchestral repetitions stay in one position; runs go through all of them.
    turns = 3 if "triplet" in technique and "repeat" in technique else 2
    if "repeat" in technique or "pairs" in technique:
        pitches = [pitch for pitch in scale(root, 1) for _ in range(turns)]
        repeated = ["separate"] + [
            "slurred" if after == before else "repeated" for before, after in pairwise(pitches)
        ]
        return pitches, repeated
    return pitches, ["slurred" if is_slurred else "separate"] * len(pitches)


def worst_ratio(passage: Passage, times: MotionTimes) -> float:
    """Time needed over time available of a soloist with these times, on the slowest instrument."""
    ratios = []
    for name in passage.instruments:
        pitches, strokes = figure(passage.technique, name)
        board = fingerboard(instrument(name))
        onset_s = np.arange(len(pitches), dtype=np.float64) / passage.notes_per_s
        line = Line([(pitch,) for pitch in pitches], onset_s, strokes)
        search = prepare(board, hand_for(board.string_length_mm), line, times)
        solution = solve(search, 1.0)
        ratios.append(float(max(solution.burst.max(), solution.sustained.max())))
    return max(ratios)


def least_ratio(passage: Passage, times: MotionTimes | None = None) -> float:
    """The same for the quickest such soloist: above 1 the product calls it impossible."""
    least, _ = uncertain_times(times or MotionTimes())
    return worst_ratio(passage, least)
