"""How far the chord model agrees with the tables of graded chords.

The accuracy command prints these rows and figures; the tests hold their floors.
"""

from __future__ import annotations

import csv
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from mockcheck.instruments import instrument
from mockcheck.playing.chords import VERDICTS, ChordAnswer, chord

REFERENCE = Path(__file__).parent.parent.parent / "fixtures" / "reference"
TABLES = ("double_stops.csv", "triple_quad_stops.csv")
GRADED_BY_SOURCE = ("named by the source", "tuning and span arithmetic")


@dataclass(frozen=True)
class AgreementRow:
    """One chord of a table, what the table and the model say, and the model's reason.

    `half` is the row's place in its table modulo 2. `is_evidence` is True where the source itself
    gives the grade; other grades were worked out by a rule of the table.
    """

    table: str
    half: int
    instrument: str
    pitches: tuple[int, ...]
    table_verdict: str
    answer: ChordAnswer
    is_evidence: bool
    source: str

    @property
    def steps(self) -> int:
        """How much harder the model grades it than the table; negative is easier."""
        grades: tuple[str, ...] = VERDICTS
        return grades.index(self.answer.verdict) - grades.index(self.table_verdict)


@dataclass(frozen=True)
class Agreement:
    """Shares of a set of rows, 0-1, and the cells (table, model) of their confusion table."""

    rows: int
    exact: float
    within_one_step: float
    cells: Counter[tuple[str, str]]


def agreement_rows(table: str) -> list[AgreementRow]:
    """Every chord of one table, in the order of the table."""
    with (REFERENCE / table).open(encoding="utf-8", newline="") as file:
        return [_row(table, index, row) for index, row in enumerate(csv.DictReader(file))]


def _row(table: str, index: int, row: dict[str, str]) -> AgreementRow:
    pitches = row.get("pitches") or f"{row['lower_midi']} {row['upper_midi']}"
    notes = tuple(int(pitch) for pitch in pitches.split())
    return AgreementRow(
        table=table,
        half=index % 2,
        instrument=row["instrument"],
        pitches=notes,
        table_verdict=row["verdict"],
        answer=chord(instrument(row["instrument"]), notes),
        is_evidence=row["verdict_basis"] in GRADED_BY_SOURCE,
        source=row["source"],
    )


def agreement(rows: list[AgreementRow]) -> Agreement:
    """How many rows get the table's grade, and how many get it or a grade next to it."""
    return Agreement(
        rows=len(rows),
        exact=sum(row.steps == 0 for row in rows) / len(rows),
        within_one_step=sum(abs(row.steps) <= 1 for row in rows) / len(rows),
        cells=Counter((row.table_verdict, row.answer.verdict) for row in rows),
    )


def disagreements() -> Iterator[AgreementRow]:
    """Every row of both tables that the model grades otherwise; `answer.reason` says why."""
    for table in TABLES:
        yield from (row for row in agreement_rows(table) if row.steps != 0)
