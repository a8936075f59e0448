"""One anthology written in one habit."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from random import Random

from tests.listening.dynamics import phrase_levels
from tests.listening.habits import HABITS, PlayedIn, Written, carrier_for
from tests.listening.midi_file import write_file
from tests.listening.performing import Player, perform
from tests.listening.planning import as_printed, plan
from tests.listening.printed import PrintedPart, Sheet
from tests.listening.truth import Rendering

SEED = 4
TIMING_ONLY, STRAY = "timing only", "stray notes"
SILENT = (TIMING_ONLY, STRAY)
"""Habits in which nothing but the notes says how they are played."""
TIMED = ("latching keys", "held keys", "tracks", TIMING_ONLY)
"""Habits in which exact timing may make listening easier or harder."""


def play_in(part: PrintedPart, sheet: Sheet, habit: str, is_human: bool, seed: int) -> PlayedIn:
    """A part planned and pressed; the plan is the same for every habit that can carry it."""
    is_timing_only = habit in SILENT
    rng = Random(f"{seed}/{sheet.work}/{part.name}/plan/{is_timing_only}")
    strikes = as_printed(part, sheet.clock, is_plucked_bowed=is_timing_only)
    notes = plan(strikes, sheet.clock, rng, has_colours=not is_timing_only)
    rng = Random(f"{seed}/{sheet.work}/{part.name}/{habit}/{is_human}")
    levels = phrase_levels(notes, sheet.clock, rng)
    carrier = carrier_for(rng)
    player = Player(rng, is_human, levels, speaks_by_velocity=carrier is None)
    pressed = perform(notes, sheet.clock, player)
    return PlayedIn(part.name, part.instrument, pressed, levels, carrier)


def render(sheet: Sheet, habit: str, is_human: bool, folder: Path, seed: int = SEED) -> Rendering:
    """Write the file and return its truth; the same seed gives the same file."""
    written = Written()
    for part in sheet.parts:
        played = play_in(part, sheet, habit, is_human, seed)
        rng = Random(f"{seed}/{sheet.work}/{part.name}/{habit}/{is_human}/writing")
        HABITS[habit](written, played, sheet.clock, rng)
    path = folder / f"{habit.replace(' ', '_')}_{'human' if is_human else 'exact'}.mid"
    write_file(path, sheet.clock, written.chunks)
    return Rendering(
        work=sheet.work,
        habit=habit,
        is_human=is_human,
        path=path,
        rows=tuple(written.rows),
        switches=tuple(written.switches),
        brief=None if habit in SILENT else written.brief,
        carriers=written.carriers,
    )


def renderings(sheet: Sheet, folder: Path, seed: int = SEED) -> Iterator[Rendering]:
    """Every habit with human timing, and those that time can change on the grid too."""
    for habit in HABITS:
        for is_human in (True, False) if habit in TIMED else (True,):
            yield render(sheet, habit, is_human, folder, seed)
