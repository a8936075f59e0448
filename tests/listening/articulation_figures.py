"""How well articulation and switches are heard over many works, habit by habit."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from pathlib import Path

import mockcheck
from tests.listening.dynamics_figures import DynamicsFigures
from tests.listening.figures import Confusion, Found, Reliability, slurred_joins
from tests.listening.hearing import Hearing, listen
from tests.listening.printed import Sheet
from tests.listening.rendering import STRAY, TIMING_ONLY, renderings
from tests.listening.switch_finding import presses_found, switches_found
from tests.listening.tables import Cell, table
from tests.listening.truth import ARTICULATIONS, TIMING_TELLS

_SAID = ("name", "switch", "general midi")
Case = tuple[str, bool, bool]
"""Habit, whether the timing is human, whether the brief was given."""


@dataclass
class ArticulationFigures:
    """Counts by case."""

    confusion: dict[Case, Confusion] = field(default_factory=lambda: defaultdict(Confusion))
    unnamed: dict[tuple[str, bool], Confusion] = field(
        default_factory=lambda: defaultdict(Confusion)
    )
    switches: dict[tuple[str, bool], Found] = field(default_factory=lambda: defaultdict(Found))
    presses: dict[tuple[str, bool], Found] = field(default_factory=lambda: defaultdict(Found))
    reliability: dict[str, Reliability] = field(default_factory=lambda: defaultdict(Reliability))

    dynamics: DynamicsFigures = field(default_factory=DynamicsFigures)
    slurs: dict[bool, Found] = field(default_factory=lambda: defaultdict(Found))
    false_slides: int = 0

    def measure(self, sheet: Sheet, folder: Path, seed: int) -> None:
        """Render one anthology in every habit and listen, with and without the brief."""
        for rendering in renderings(sheet, folder, seed):
            score = mockcheck.load(rendering.path)
            self._count(listen(rendering, score), is_told=False)
            # What is said outright does not hang on how exact the timing is.
            if rendering.brief is not None and rendering.is_human:
                self._count(listen(rendering, score, rendering.brief), is_told=True)

    def _count(self, hearing: Hearing, *, is_told: bool) -> None:
        habit, is_human = hearing.rendering.habit, hearing.rendering.is_human
        if not is_told:
            self.switches[habit, is_human].add(switches_found(hearing))
            self.presses[habit, is_human].add(presses_found(hearing))
            self.dynamics.add(hearing)
            self.slurs[is_human].add(
                slurred_joins(hearing.notes) if habit == TIMING_ONLY else Found()
            )
            self.false_slides += sum(len(part.slides) for part in hearing.played.parts)
        if habit == STRAY:
            return
        self.confusion[habit, is_human, is_told].add(hearing.notes)
        said = [note for note in hearing.notes if note.row.evidence in _SAID]
        open_notes = [note for note in hearing.notes if note.row.evidence not in _SAID]
        if habit == TIMING_ONLY:
            self.reliability["timing only"].add(hearing.notes)
        elif is_told or habit == "tracks":
            self.reliability["said by brief, switch or name"].add(said)
            self.reliability["'long' tracks: legato or not"].add(open_notes)
        else:
            self.reliability["switches not named, all notes"].add(hearing.notes)
            told = [note for note in hearing.notes if note.row.timing_tells]
            self.reliability["switches not named, strokes that timing tells"].add(told)
            self.unnamed[habit, is_human].add(told)

    def text(self) -> str:
        """All tables."""
        parts = (self._explicit, self._timing, self._not_named, self._found, self._sure)
        return "\n".join(
            [
                *(part() for part in parts),
                self._slurs(),
                self.dynamics.text(),
                f"Slides heard in all these files, which have none: {self.false_slides}\n",
            ]
        )

    def _slurs(self) -> str:
        rows = [
            (_timing(is_human), found.true, found.claimed, found.precision, found.recall)
            for is_human, found in sorted(self.slurs.items())
        ]
        head = ("timing", "joins under a slur", "claimed", "precision", "recall")
        return table("6. Slurs, from timing alone: which notes share a bow", head, rows)

    def _explicit(self) -> str:
        rows = []
        for (habit, is_human, is_told), confusion in sorted(self.confusion.items()):
            if is_told or habit == "tracks":
                rows.append(
                    (
                        f"{habit}, {_timing(is_human)}, {'brief' if is_told else 'no brief'}",
                        sum(confusion.pairs.values()),
                        confusion.accuracy,
                        confusion.macro_f1(ARTICULATIONS),
                        _worst(confusion),
                    )
                )
        head = ("explicit evidence", "notes", "right", "macro F1", "commonest errors")
        return table("1. Articulation, said outright (target: macro F1 0.97)", head, rows)

    def _timing(self) -> str:
        rows: list[tuple[Cell, ...]] = []
        for is_human in (True, False):
            confusion = self.confusion[TIMING_ONLY, is_human, False]
            for name in TIMING_TELLS:
                found = confusion.of_class(name)
                rows.append(
                    (f"{name}, {_timing(is_human)}", found.true, found.precision, found.recall,
                     found.f1)
                )  # fmt: skip
            total = sum(confusion.pairs.values())
            macro = confusion.macro_f1(TIMING_TELLS)
            rows.append((f"macro F1, {_timing(is_human)}", total, "", "", macro))
        head = ("class", "notes", "precision", "recall", "F1")
        both = Confusion()
        for is_human in (True, False):
            both.pairs.update(self.confusion[TIMING_ONLY, is_human, False].pairs)
        return (
            table("2. Articulation from timing alone (target: macro F1 0.85)", head, rows)
            + f"commonest errors: {_worst(both, 10)}\n"
        )

    def _not_named(self) -> str:
        rows = []
        for (habit, is_human), own in sorted(self.unnamed.items()):
            count = sum(own.pairs.values())
            macro = own.macro_f1(TIMING_TELLS)
            rows.append((f"{habit}, {_timing(is_human)}", count, own.accuracy, macro, _worst(own)))
        head = ("switches not named", "notes", "right", "macro F1", "commonest errors")
        title = "3. Switches are there but not named: notes of the strokes that timing tells"
        return table(title, head, rows)

    def _found(self) -> str:
        rows: list[tuple[Cell, ...]] = []
        for (habit, is_human), found in sorted(self.switches.items()):
            presses = self.presses[habit, is_human]
            rows.append(
                (f"{habit}, {_timing(is_human)}", found.true, found.claimed, found.precision,
                 found.recall, presses.true, presses.precision, presses.recall)
            )  # fmt: skip
        every = Found()
        for found in self.switches.values():
            every.add(found)
        total = (every.true, every.claimed, every.precision, every.recall)
        rows.append(("all", *total, "", "", ""))
        head = ("habit", "switches", "claimed", "precision", "recall", "presses", "precision",
                "recall")  # fmt: skip
        return table(
            "4. Switches found without being told (target: precision 0.98, recall 0.95)", head, rows
        )

    def _sure(self) -> str:
        texts = []
        for name, reliability in sorted(self.reliability.items()):
            rows = [(f"{sure:.2f}", right, count) for sure, right, count in reliability.bins()]
            error = reliability.calibration_error
            title = f"5. Confidence, {name}: expected calibration error {error:.3f} (target 0.08)"
            texts.append(table(title, ("mean confidence", "share right", "notes"), rows))
        return "\n".join(texts)


def _timing(is_human: bool) -> str:
    return "human" if is_human else "exact"


def _worst(confusion: Confusion, most: int = 2) -> str:
    wrong = confusion.most_confused(most)
    return ", ".join(f"{true} as {heard} {count}" for true, heard, count in wrong) or "none"
