"""Lines that no bow carries: 25 seconds at forte."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from random import Random

import mido

from tests.accuracy.faults.fault import Fault, fault_at, put_notes, top_line
from tests.accuracy.midi_music import Music, Note, Part

LONG_S = 25.0
"""One bow at f lasts about 1 s on a violin and 12 s at pp (an orchestrator's note on bow lengths);
printed slurs marked ff reach 3.9 s (99th percentile in 116 open string quartet scores)."""
FORTE, FORTISSIMO = 96, 112
"""Velocity, or controller 11: six dynamics from pp = 33 to ff in equal steps of 16."""
SLUR_OVERLAP_TICKS = 10
FEWEST_NOTES = 8
DRAWN_STEPS = 24
"""Values of a drawn controller over the line."""


def _loud(part: Part, notes: list[Note], chance: Random) -> tuple[Part, list[Note], str]:
    """The line at f to ff: struck so, or drawn with expression over notes as they were."""
    loudness = chance.choice((FORTE, FORTISSIMO))
    if chance.random() < 0.5:
        return part, [replace(note, velocity=loudness) for note in notes], f"velocity {loudness}"
    events = tuple(_swelling(notes[0].onset, notes[-1].release, loudness))
    return replace(part, events=(*part.events, *events)), notes, f"controller 11 from {loudness}"


def _swelling(start: int, end: int, loudness: int) -> Iterator[tuple[int, mido.Message]]:
    """Expression that swells and falls back above a loudness, and lies at mf before and after."""
    yield 0, mido.Message("control_change", control=11, value=80)
    for step in range(DRAWN_STEPS):
        tick = start + (end - start) * step // DRAWN_STEPS
        value = loudness + round(14 * (1 - abs(2 * step / DRAWN_STEPS - 1)))
        yield tick, mido.Message("control_change", control=11, value=value)
    yield end, mido.Message("control_change", control=11, value=80)


def _fault(
    kind: str, music: Music, part: Part, notes: list[Note], chance: Random, what: str
) -> Fault:
    start, end = notes[0].onset, notes[-1].release
    part, notes, how = _loud(part, notes, chance)
    changed = put_notes(part, start, end, notes)
    seconds = music.second_at(end) - music.second_at(start)
    detail = f"{what} for {seconds:.1f} s, {how}"
    return fault_at(kind, music, changed, (start, end), detail, "bow-runs-out")


def held_25_s(music: Music, part: Part, note: Note, chance: Random) -> Fault | None:
    """A note is held for 25 s, and whatever the part had there is left out."""
    end = music.tick_at(music.second_at(note.onset) + LONG_S)
    if end > music.end:
        return None
    held = [replace(note, release=end)]
    return _fault("note held 25 s at forte", music, part, held, chance, "one note")


def slur_25_s(music: Music, part: Part, note: Note, chance: Random) -> Fault | None:
    """The published line goes on under one slur for 25 s, its rests filled and repeats tied."""
    end = music.tick_at(music.second_at(note.onset) + LONG_S)
    line: list[Note] = []
    for following in top_line(part, note.onset, end):
        if not line or following.pitch != line[-1].pitch:
            line.append(following)
    if end > music.end or len(line) < FEWEST_NOTES:
        return None
    onsets = [following.onset for following in line[1:]]
    slurred = [
        replace(drawn, release=onset + SLUR_OVERLAP_TICKS)
        for drawn, onset in zip(line, onsets, strict=False)
    ]
    slurred.append(replace(line[-1], release=max(end, line[-1].onset + 1)))
    what = f"{len(slurred)} notes slurred"
    return _fault("slur of 25 s at forte", music, part, slurred, chance, what)
