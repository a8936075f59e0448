"""Several lines on one track: two to four parts of a quartet, and double stops.

The two violins go on one track of violins, three parts on one track of violas, all four on one
track of strings. The parts of a quartet cross far more than a section that divides.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import groupby
from pathlib import Path
from random import Random

from tests.listening.clock import Clock
from tests.listening.dynamics import phrase_levels
from tests.listening.midi_file import Chunk, write_file
from tests.listening.performing import Player, Pressed, perform
from tests.listening.planning import as_printed, plan
from tests.listening.printed import PrintedPart, Sheet
from tests.listening.rendering import SEED
from tests.listening.truth import Rendering, TrueNote, TruthRow

DIVISI = ("2 lines", "3 lines", "4 lines")
DOUBLE_STOPS = "double stops"
_TRACKS = {2: "Violins", 3: "Violas", 4: "Strings"}
_PLAYERS = {"Violins": 12, "Violas": 10, "Strings": 28}
_UNISON_S = 0.06


def top_line(part: PrintedPart) -> PrintedPart:
    """One note at a time: the highest of each onset, until the next."""
    groups = [list(group) for _, group in groupby(part.notes, key=lambda note: note.onset)]
    ends = [group[0].onset for group in groups[1:]]
    notes = []
    for place, group in enumerate(groups):
        note = group[-1]
        length = min(note.length, ends[place] - note.onset) if place < len(ends) else note.length
        notes.append(replace(note, length=length))
    return replace(part, notes=tuple(notes))


def render_divisi(
    sheet: Sheet, count: int, folder: Path, is_human: bool = True, seed: int = SEED
) -> Rendering:
    """So many parts on one track; each line has its own player's timing."""
    name = _TRACKS[count]
    pressed: list[Pressed] = []
    for line, part in enumerate(sheet.parts[:count]):
        rng = Random(f"{seed}/{sheet.work}/{part.name}/divisi/{count}/{is_human}")
        notes = [replace(note, line=line) for note in _meant(top_line(part), sheet.clock, rng)]
        pressed += _pressed(notes, sheet.clock, rng, is_human)
    rows = _shared_keys(pressed, sheet.clock, name)
    return _written(sheet, f"{count} lines", is_human, folder, name, rows, _PLAYERS[name])


def render_double_stops(
    sheet: Sheet, folder: Path, is_human: bool = True, seed: int = SEED
) -> Rendering | None:
    """The part with most printed double stops as one player plays it; None where there are none."""
    part = max(sheet.parts, key=_double_stops)
    if not _double_stops(part):
        return None
    rng = Random(f"{seed}/{sheet.work}/{part.name}/{DOUBLE_STOPS}/{is_human}")
    pressed = _pressed(_meant(part, sheet.clock, rng), sheet.clock, rng, is_human)
    name = f"Solo {part.instrument.capitalize()}"
    rows = _shared_keys(pressed, sheet.clock, name)
    return _written(sheet, DOUBLE_STOPS, is_human, folder, name, rows, 1)


def divisi_renderings(sheet: Sheet, folder: Path, seed: int = SEED) -> Iterator[Rendering]:
    """Two, three and four lines on one track."""
    for count in range(2, len(sheet.parts) + 1):
        yield render_divisi(sheet, count, folder, seed=seed)


def _double_stops(part: PrintedPart) -> int:
    return sum(
        len(list(group)) > 1 for _, group in groupby(part.notes, key=lambda note: note.onset)
    )


def _meant(part: PrintedPart, clock: Clock, rng: Random) -> list[TrueNote]:
    """As printed and bowed; tremolo and trills are one key each, or lines would be chords."""
    strikes = as_printed(part, clock, is_plucked_bowed=True)
    return [
        replace(note, strokes_per_s=0.0) for note in plan(strikes, clock, rng, has_colours=False)
    ]


def _pressed(notes: list[TrueNote], clock: Clock, rng: Random, is_human: bool) -> list[Pressed]:
    levels = phrase_levels(notes, clock, rng)
    return perform(notes, clock, Player(rng, is_human, levels, speaks_by_velocity=True))


def _shared_keys(pressed: list[Pressed], clock: Clock, part: str) -> list[TruthRow]:
    """Truth of presses on one keyboard: lines that meet on a key share it, or the first lets go."""
    rows: list[TruthRow] = []
    down: dict[int, int] = {}
    for press in sorted(pressed, key=lambda press: (press.onset_s, press.pitch)):
        onset = clock.tick_at(press.onset_s)
        release = max(clock.tick_at(press.release_s), onset + 1)
        before = down.get(press.pitch)
        if before is not None and rows[before].release >= onset:
            old = rows[before]
            if press.onset_s - clock.second_at(old.onset) <= _UNISON_S:
                lines = tuple(sorted({*old.lines, press.note.line}))
                rows[before] = replace(old, release=max(old.release, release), lines=lines)
                continue
            rows[before] = replace(old, release=max(onset - 1, old.onset + 1))
        down[press.pitch] = len(rows)
        note = press.note
        rows.append(
            TruthRow(
                part=part, track=1, onset=onset, release=release, pitch=press.pitch,
                velocity=press.velocity, articulation=note.articulation, also=note.also,
                slur=note.slur, lines=(note.line,), timing_tells=note.timing_tells,
            )
        )  # fmt: skip
    return rows


def _written(
    sheet: Sheet, habit: str, is_human: bool, folder: Path, name: str, rows: list[TruthRow],
    players: int,
) -> Rendering:  # fmt: skip
    chunk = Chunk(name)
    for row in rows:
        chunk.note(row.pitch, row.onset, row.release, row.velocity, 0)
    path = write_file(folder / f"{habit.replace(' ', '_')}.mid", sheet.clock, [chunk])
    brief = {"tracks": [{"match": name, "part": name, "players": players}]}
    return Rendering(
        sheet.work, habit, is_human, path, tuple(rows), brief=brief, players={name: players}
    )
