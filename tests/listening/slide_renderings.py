"""Quartet lines rendered with slides: every bend range, MPE, and slides that are asked for."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from random import Random

from tests.listening.asking import ASKED, brief_for, write_asking_line
from tests.listening.clock import Clock
from tests.listening.midi_file import Chunk, write_file
from tests.listening.planning import Strike, as_printed
from tests.listening.printed import Sheet
from tests.listening.rendering import SEED
from tests.listening.sliding import (
    MPE_RANGE,
    RANGES,
    LineNote,
    Sliding,
    true_slides,
    write_slid_line,
)
from tests.listening.truth import Rendering

_JITTER_S = 0.012
_OVERLAP_S = (0.005, 0.04)
_JOINED_S = 0.02


def line_notes(strikes: Sequence[Strike], clock: Clock, rng: Random) -> list[LineNote]:
    """The top notes of a part, slurred where they touch, with small faults of time."""
    written = [(clock.second_at(s.onset), clock.second_at(s.onset + s.length)) for s in strikes]
    onsets = [max(begin_s + rng.gauss(0, _JITTER_S), 0.0) for begin_s, _ in written]
    for place in range(1, len(onsets)):
        onsets[place] = max(onsets[place], onsets[place - 1] + 0.05)
    notes = []
    for place, strike in enumerate(strikes):
        pitch = strike.pitches[-1]
        after_s = onsets[place + 1] if place + 1 < len(strikes) else float("inf")
        after_pitch = strikes[place + 1].pitches[-1] if place + 1 < len(strikes) else pitch
        reaches = place + 1 < len(strikes) and (
            written[place][1] >= written[place + 1][0] - _JOINED_S
        )
        is_joined = reaches and after_pitch != pitch
        release_s = onsets[place] + 0.85 * (written[place][1] - written[place][0])
        if is_joined:
            release_s = after_s + min(rng.uniform(*_OVERLAP_S), 0.3 * (after_s - onsets[place]))
        release_s = max(min(release_s, after_s - 0.01) if not is_joined else release_s,
                        onsets[place] + 0.02)  # fmt: skip
        notes.append(LineNote(onsets[place], release_s, pitch, rng.randint(60, 100), is_joined))
    return notes


def render_bends(
    sheet: Sheet, range_semitones: int, folder: Path, *, is_mpe: bool = False, seed: int = SEED
) -> Rendering:
    """One anthology with slides and distractors drawn by the bend."""
    habit = "MPE" if is_mpe else f"bend range {range_semitones}"
    chunks, slides, distractors = [], [], []
    for track, part in enumerate(sheet.parts, start=1):
        rng = Random(f"{seed}/{sheet.work}/{part.name}/{habit}")
        notes = line_notes(as_printed(part, sheet.clock), sheet.clock, rng)
        slid = Sliding(notes, range_semitones, rng).deal()
        chunk = Chunk(part.name)
        write_slid_line(chunk, notes, slid, range_semitones, sheet.clock, rng, is_mpe=is_mpe)
        chunks.append(chunk)
        own_slides, own_distractors = true_slides(slid, notes, track, sheet.clock)
        slides += own_slides
        distractors += own_distractors
    path = write_file(folder / f"{habit.replace(' ', '_')}.mid", sheet.clock, chunks)
    return Rendering(
        sheet.work, habit, True, path, (), slides=tuple(slides), distractors=tuple(distractors)
    )


def render_asked(sheet: Sheet, way: str, folder: Path, seed: int = SEED) -> Rendering:
    """One anthology with slides asked for in one way."""
    chunks, slides = [], []
    for track, part in enumerate(sheet.parts, start=1):
        rng = Random(f"{seed}/{sheet.work}/{part.name}/{way}")
        notes = line_notes(as_printed(part, sheet.clock), sheet.clock, rng)
        chunk = Chunk(part.name)
        slides += write_asking_line(chunk, notes, way, track, sheet.clock, rng)
        chunks.append(chunk)
    path = write_file(folder / f"{way.replace(' ', '_')}.mid", sheet.clock, chunks)
    brief = brief_for(way, [chunk.name for chunk in chunks])
    return Rendering(sheet.work, way, True, path, (), slides=tuple(slides), brief=brief)


def slide_renderings(sheet: Sheet, folder: Path, seed: int = SEED) -> Iterator[Rendering]:
    """Every bend range, MPE, and every way of asking."""
    for range_semitones in RANGES:
        yield render_bends(sheet, range_semitones, folder, seed=seed)
    yield render_bends(sheet, MPE_RANGE, folder, is_mpe=True, seed=seed)
    for way in ASKED:
        yield render_asked(sheet, way, folder, seed)
