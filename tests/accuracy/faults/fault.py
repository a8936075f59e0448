"""What a fault is, and how makers of faults edit a part."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from random import Random
from typing import Any

import mido

from tests.accuracy.midi_music import Music, Note, Part

OPEN_STRINGS = {"violin": (55, 62, 69, 76), "viola": (48, 55, 62, 69), "cello": (36, 43, 50, 57)}
COMFORTABLE_TOP = {"violin": 93, "viola": 81, "cello": 76}
SOLO_TOP = {"violin": 105, "viola": 93, "cello": 88}


@dataclass(frozen=True)
class Fault:
    """Music with one fault; bars from 1, `checks` are those that ought to say so.

    `second_track` is a track of the same players that the fault has added, '' for none; `brief`
    are rows of `[[tracks]]` without which the product could not know what the file means.
    """

    kind: str
    checks: tuple[str, ...]
    music: Music
    part: str
    first_bar: int
    last_bar: int
    detail: str
    second_track: str = ""
    brief: tuple[Mapping[str, Any], ...] = ()


Maker = Callable[[Music, Part, Note, Random], Fault | None]


def fault_at(
    kind: str, music: Music, part: Part, span: tuple[int, int], detail: str, *checks: str
) -> Fault:
    """The fault of a changed part, between two ticks."""
    first, last = music.bar_at(span[0]), music.bar_at(max(span[1] - 1, span[0]))
    return Fault(kind, checks, music.with_part(part), part.name, first, last, detail)


def swap_note(part: Part, old: Note, new: Note) -> Part:
    """The part with one note for another."""
    return replace(part, notes=tuple(new if note is old else note for note in part.notes))


def put_notes(part: Part, start: int, end: int, notes: list[Note]) -> Part:
    """The part with everything between two ticks replaced."""
    kept = [
        replace(note, release=min(note.release, start)) if note.onset < start else note
        for note in part.notes
        if not start <= note.onset < end
    ]
    return replace(part, notes=tuple(sorted([*kept, *notes], key=lambda n: (n.onset, n.pitch))))


def top_line(part: Part, start: int, end: int) -> list[Note]:
    """The highest note of every onset between two ticks."""
    tops: dict[int, Note] = {}
    for note in part.notes:
        if start <= note.onset < end:
            tops[note.onset] = note
    return list(tops.values())


def program_change(number: int) -> mido.Message:
    """Select a General MIDI program, counted from 0."""
    return mido.Message("program_change", program=number)
