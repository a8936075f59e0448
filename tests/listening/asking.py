"""Slides that are asked for by messages, a switch or a touch, their shape left to the sampler.

Portamento switched on by controller 65 with its time on 5, a source key on 84 (MIDI 1.0 Detailed
Specification 4.2), a key the brief names, or a soft touch of a note that overlaps the one before
(common practice, no source).
"""

from __future__ import annotations

from collections.abc import Sequence
from random import Random
from typing import Any

from tests.listening.clock import Clock
from tests.listening.midi_file import SWITCH, Chunk
from tests.listening.sliding import LineNote
from tests.listening.truth import TrueSlide

ASKED = ("portamento switch", "source key", "named key", "soft overlap")
_SHARE = 0.2
_TAKEN_S = 0.12
_SHORTEST_S = 0.15
_SOFT = (5, 20)
_KEY = 12
"""Below every instrument of a quartet."""


def write_asking_line(
    chunk: Chunk, notes: Sequence[LineNote], way: str, track: int, clock: Clock, rng: Random
) -> list[TrueSlide]:
    """A legato line in which some joins are asked to slide."""
    chosen = {
        place
        for place in range(1, len(notes))
        if notes[place - 1].is_joined
        and notes[place - 1].pitch != notes[place].pitch
        and min(_length_s(notes[place - 1]), _length_s(notes[place])) >= _SHORTEST_S
        and rng.random() < _SHARE
    }
    if way == "portamento switch":
        chunk.control(0, 65, 0, 0)
        chunk.control(0, 5, rng.randrange(20, 90), 0)
    for place, note in enumerate(notes):
        velocity = rng.randint(*_SOFT) if way == "soft overlap" and place in chosen else None
        onset, release = clock.tick_at(note.onset_s), clock.tick_at(note.release_s)
        chunk.note(note.pitch, onset, release, velocity or note.velocity, 0)
    for place in sorted(chosen):
        _ask(chunk, notes[place - 1], notes[place], way, clock, rng)
    return [
        TrueSlide(
            track=track,
            onset=clock.tick_at(notes[place].onset_s),
            release=clock.tick_at(notes[place].onset_s + _TAKEN_S),
            from_pitch=notes[place - 1].pitch,
            to_pitch=notes[place].pitch,
            kind="portamento",
            carrier=way,
            to_onset=clock.tick_at(notes[place].onset_s),
        )
        for place in sorted(chosen)
    ]


def _length_s(note: LineNote) -> float:
    return note.release_s - note.onset_s


def _ask(chunk: Chunk, one: LineNote, two: LineNote, way: str, clock: Clock, rng: Random) -> None:
    lead_s = min(rng.uniform(0.0, 0.03), 0.5 * (two.onset_s - one.onset_s))
    before = clock.tick_at(two.onset_s - lead_s)
    after_s = two.onset_s + min(0.06, 0.5 * (two.release_s - two.onset_s))
    after = clock.tick_at(after_s)
    if way == "portamento switch":
        chunk.control(before, 65, 127, 0)
        chunk.control(after, 65, 0, 0)
    elif way == "source key":
        chunk.control(before, 84, one.pitch, 0)
    elif way == "named key":
        chunk.note(_KEY, before, after, 100, 0, SWITCH)


def brief_for(way: str, names: Sequence[str]) -> dict[str, Any] | None:
    """The brief that names the key, where there is one."""
    if way != "named key":
        return None
    switch = {"articulation": "portamento", "key": _KEY, "held": True}
    return {"tracks": [{"match": name, "switches": [switch]} for name in names]}
