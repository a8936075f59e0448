"""The mute put on, or taken off, in no time."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from random import Random
from typing import Any

import mido

from tests.accuracy.faults.fault import Fault, fault_at, put_notes
from tests.accuracy.midi_music import Music, Note, Part

NO_TIME_S = 0.5
"""Of the rests printed for a mute in 116 open string quartet scores, whose composers often leave
too little, 95 of 100 are longer: 0.78 s to put it on (50 changes), 0.53 s to take it off (48).
Berlioz asks for two bars of 4/4 moderato, 4.4 to 5.0 s, and much less to take it off."""
RESTS_S = (0.0, 0.1, 0.25, 0.4)
FEWEST_NOTES = 4
"""On either side of the change."""
TRACK_WORDS = ("con sord", "con sordino", "muted", "sord.")
MUTE_KEY = 24
"""An octave or more under every lowest string."""
MUTE_CONTROLLER = 102
"""Undefined in the MIDI 1.0 Detailed Specification 4.2, so free for a switch."""
EARLY_S = 0.03
"""Switches are thrown a little before the note they are for, or with it."""


def _quiet_before(music: Music, part: Part, turn: int, rest_s: float) -> Part:
    """The part with a rest before a tick: what sounds is cut, what begins is left out."""
    quiet = max(music.tick_at(music.second_at(turn) - rest_s), 0)
    # This cuts a slur's overlap of a few ticks too: nothing sounds over the change.
    return put_notes(part, quiet, turn, [])


def rest_before_s(music: Music, part: Part, turn: int) -> float:
    """Oracle: the silence before a tick, s."""
    releases = [note.release for note in part.notes if note.onset < turn]
    return music.second_at(turn) - music.second_at(max(releases))


def _without_time(
    music: Music, part: Part, note: Note, chance: Random
) -> tuple[Part, list[Note], list[Note]] | None:
    """The part with next to no rest before a note, and its notes before and from there on."""
    turn = note.onset
    quiet = _quiet_before(music, part, turn, chance.choice(RESTS_S))
    before = [n for n in quiet.notes if n.onset < turn]
    after = [n for n in quiet.notes if n.onset >= turn]
    if min(len(before), len(after)) < FEWEST_NOTES:
        return None
    return (quiet, before, after) if rest_before_s(music, quiet, turn) < NO_TIME_S else None


def _fault(
    kind: str, music: Music, part: Part, last: Note, turn: int, is_on: bool, how: str
) -> Fault:
    rest_s = rest_before_s(music, part, turn)
    detail = f"{'on' if is_on else 'off'} in {rest_s:.2f} s, {how}"
    span = (min(last.release, turn - 1), turn + 1)
    return fault_at(kind, music, part, span, detail, "no-time-for-change")


def mute_by_track(music: Music, part: Part, note: Note, chance: Random) -> Fault | None:
    """Muted notes have a track of their own, named so; it follows the other without a rest."""
    found = _without_time(music, part, note, chance)
    if found is None:
        return None
    quiet, before, after = found
    is_on = chance.random() < 0.5
    name = f"{part.name} {chance.choice(TRACK_WORDS)}"
    muted, plain = (after, before) if is_on else (before, after)
    start = [event for event in part.events if event[0] == 0]
    second = Part(name, tuple(muted), tuple(start))
    fault = _fault(
        "mute in no time, by track", music, quiet, before[-1], note.onset, is_on, f"track '{name}'"
    )
    own = replace(quiet, notes=tuple(plain))
    changed = music.with_part(own)
    return replace(fault, music=replace(changed, parts=(*changed.parts, second)), second_track=name)


def _key(part: Part, span: tuple[int, int]) -> tuple[Part, Mapping[str, Any]]:
    """A key held down while the part is muted."""
    pressed = Note(*span, MUTE_KEY)
    notes = tuple(sorted([*part.notes, pressed], key=lambda n: (n.onset, n.pitch)))
    return replace(part, notes=notes), {"key": MUTE_KEY, "held": True}


def _controller(part: Part, span: tuple[int, int]) -> tuple[Part, Mapping[str, Any]]:
    """A controller at its highest value while the part is muted, else at 0."""
    events = tuple(_controller_events(span))
    switch = {"controller": MUTE_CONTROLLER, "values": [64, 127]}
    return replace(part, events=(*part.events, *events)), switch


def _controller_events(span: tuple[int, int]) -> Iterator[tuple[int, mido.Message]]:
    values = {0: 0} | {span[0]: 127, span[1]: 0}
    for tick, value in values.items():
        yield tick, mido.Message("control_change", control=MUTE_CONTROLLER, value=value)


def mute_by_switch(music: Music, part: Part, note: Note, chance: Random) -> Fault | None:
    """A key or a controller that the brief names mutes the part from one note to the next."""
    found = _without_time(music, part, note, chance)
    if found is None:
        return None
    quiet, before, after = found
    is_on = chance.random() < 0.5
    how, throw = chance.choice((("key", _key), ("controller", _controller)))
    early = music.tick_at(music.second_at(note.onset) - EARLY_S)
    turn = note.onset if chance.random() < 0.5 else max(early, before[-1].onset + 1)
    span = (turn, max(n.release for n in after)) if is_on else (0, turn)
    changed, switch = throw(quiet, span)
    fault = _fault(
        "mute in no time, by switch", music, quiet, before[-1], note.onset, is_on, f"by a {how}"
    )
    row = {"match": part.name, "switches": [{"articulation": "con sordino", **switch}]}
    return replace(fault, music=music.with_part(changed), brief=(row,))
