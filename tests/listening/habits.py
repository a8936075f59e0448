"""How writers carry articulation in a file: keys, controllers, tracks, programs, channels, or not.

The conventions are generic; no product's own layout is among them.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import groupby
from random import Random
from typing import Any

from tests.listening.clock import Clock
from tests.listening.dynamics import CONTROLLERS, Levels, draw_levels
from tests.listening.midi_file import SWITCH, Chunk
from tests.listening.names import LONG, track_names
from tests.listening.performing import Pressed, keys_come_up
from tests.listening.truth import ARTICULATIONS, Trigger, TrueSwitch, TruthRow

LOWEST = {"violin": 55, "viola": 48, "cello": 36}
HIGHEST = {"violin": 105, "viola": 93, "cello": 88}
"""Sounding range that music uses; switch keys stay an octave above it or anywhere below."""
_KEY_BASES = {"violin": (0, 12, 24, 36), "viola": (0, 12, 24, 33), "cello": (0, 12, 20)}
_KEYS_ABOVE = {"violin": 118, "viola": 108, "cello": 108}
_SHARE_ABOVE = 0.15
_SHARE_STRAY = 0.05
_ZONE = 9
_GENERAL_MIDI = {"tremolo": 44, "pizzicato": 45}
_GENERAL_MIDI_ARCO = {"violin": 40, "viola": 41, "cello": 42}
_SWITCH_CONTROLLERS = (32, 32, 3, 20, 80, 102)
_CHANNELS = [channel for channel in range(16) if channel != 9]


@dataclass(frozen=True)
class PlayedIn:
    """One part as pressed on the keyboard; `carrier` is the controller of its loudness or None."""

    part: str
    instrument: str
    pressed: Sequence[Pressed]
    levels: Levels
    carrier: int | None


@dataclass
class Written:
    """Chunks of a file so far, with the truth about them."""

    chunks: list[Chunk] = field(default_factory=list)
    rows: list[TruthRow] = field(default_factory=list)
    switches: list[TrueSwitch] = field(default_factory=list)
    tracks: list[dict[str, Any]] = field(default_factory=list)
    carriers: dict[int, int | None] = field(default_factory=dict)

    @property
    def brief(self) -> Mapping[str, Any]:
        return {"tracks": self.tracks}


@dataclass(frozen=True)
class _Segment:
    """Presses in a row with one articulation, and the onset of the press before and after."""

    articulation: str
    pressed: tuple[Pressed, ...]
    before_s: float
    after_s: float


Habit = Callable[[Written, PlayedIn, Clock, Random], None]


def _segments(pressed: Sequence[Pressed]) -> list[_Segment]:
    groups = [tuple(own) for _, own in groupby(pressed, key=lambda p: p.note.articulation)]
    segments = []
    for place, own in enumerate(groups):
        before_s = groups[place - 1][-1].onset_s if place else own[0].onset_s - 1
        after_s = groups[place + 1][0].onset_s if place + 1 < len(groups) else own[-1].release_s + 1
        segments.append(_Segment(own[0].note.articulation, own, before_s, after_s))
    return segments


def _used(played: PlayedIn) -> list[str]:
    found = {press.note.articulation for press in played.pressed}
    return [name for name in ARTICULATIONS if name in found]


def _lead_s(segment: _Segment, lead_s: float) -> float:
    """How long before its notes a switch is thrown; never before the notes of the last one."""
    first_s = segment.pressed[0].onset_s
    return min(lead_s, 0.5 * (first_s - segment.before_s), first_s)


def _music(
    written: Written, played: PlayedIn, clock: Clock, name: str, evidence: str = "switch",
    channel_of: Mapping[str, int] | None = None,
) -> Chunk:  # fmt: skip
    """A chunk with the notes and the loudness of a part, and their truth."""
    chunk = Chunk(name)
    written.chunks.append(chunk)
    written.carriers[len(written.chunks)] = played.carrier
    channels = channel_of or {}
    for press in played.pressed:
        note = press.note
        onset, release = clock.tick_at(press.onset_s), clock.tick_at(press.release_s)
        release = max(release, onset + 1)
        channel = channels.get(note.articulation, 0)
        chunk.note(press.pitch, onset, release, press.velocity, channel)
        written.rows.append(
            TruthRow(
                part=played.part, track=len(written.chunks), onset=onset, release=release,
                pitch=press.pitch, velocity=press.velocity, articulation=note.articulation,
                also=note.also, evidence=evidence, slur=note.slur, lines=(note.line,),
                timing_tells=note.timing_tells,
                level=played.levels.mean(press.onset_s, press.release_s),
            )
        )  # fmt: skip
    if played.carrier is not None:
        end_s = max(press.release_s for press in played.pressed)
        for channel in sorted({0, *channels.values()}):
            draw_levels(chunk, played.levels, played.carrier, clock, channel, end_s)
    return chunk


def _declare(
    written: Written, articulation: str, trigger: Trigger, presses: int, table: Mapping[str, Any]
) -> None:
    """The truth of a switch, and its line in the brief of the latest track."""
    written.switches.append(TrueSwitch(len(written.chunks), trigger, articulation, presses))
    written.tracks[-1]["switches"].append({"articulation": articulation, **table})


def _open_brief(written: Written, name: str) -> None:
    written.tracks.append({"match": name, "switches": []})


def keys_for(instrument: str, articulations: Sequence[str], rng: Random) -> dict[str, int]:
    """A key outside the playing range for each articulation: neighbours, mostly below."""
    if rng.random() < _SHARE_ABOVE and _KEYS_ABOVE[instrument] + len(articulations) <= 128:
        base = _KEYS_ABOVE[instrument]
    else:
        bases = [b for b in _KEY_BASES[instrument] if b + len(articulations) < LOWEST[instrument]]
        base = rng.choice(bases)
    return {name: base + step for step, name in enumerate(articulations)}


def latching_keys(written: Written, played: PlayedIn, clock: Clock, rng: Random) -> None:
    """A key outside the range, tapped a little before, holds until the next one."""
    chunk = _music(written, played, clock, played.part)
    keys = keys_for(played.instrument, _used(played), rng)
    lead_s, tap_s = rng.choice((0.0, 0.02, 0.05, 0.09)), rng.uniform(0.04, 0.15)
    again = rng.choice((0.0, 0.1))
    presses = dict.fromkeys(keys, 0)
    for segment in _segments(played.pressed):
        starts = [segment.pressed[0].onset_s - _lead_s(segment, lead_s)]
        starts += [p.onset_s for p in segment.pressed[4:] if rng.random() < again / 4]
        for number, start_s in enumerate(starts):
            until_s = starts[number + 1] if number + 1 < len(starts) else segment.after_s
            end_s = min(start_s + tap_s, max(until_s - 0.01, start_s + 0.01))
            _tap(chunk, keys[segment.articulation], start_s, end_s, clock, rng)
            presses[segment.articulation] += 1
    _open_brief(written, played.part)
    for name, key in keys.items():
        _declare(written, name, ("key", key, -1), presses[name], {"key": key})


def _tap(chunk: Chunk, key: int, begin_s: float, end_s: float, clock: Clock, rng: Random) -> None:
    velocity = rng.choice((1, 64, 100, 127))
    chunk.note(key, clock.tick_at(begin_s), clock.tick_at(end_s), velocity, 0, SWITCH)


def held_keys(written: Written, played: PlayedIn, clock: Clock, rng: Random) -> None:
    """A key outside the range holds as long as it is down; without one the strokes are detache."""
    chunk = _music(written, played, clock, played.part)
    keys = keys_for(played.instrument, [n for n in _used(played) if n != "detache"], rng)
    lead_s = rng.choice((0.01, 0.03, 0.06))
    presses = dict.fromkeys(keys, 0)
    for segment in _segments(played.pressed):
        if segment.articulation not in keys:
            continue
        begin_s = segment.pressed[0].onset_s - _lead_s(segment, lead_s)
        last_s = segment.pressed[-1].onset_s
        # Up while the last note sounds, before the next stroke begins.
        end_s = last_s + 0.6 * (min(segment.after_s, segment.pressed[-1].release_s) - last_s)
        _tap(chunk, keys[segment.articulation], begin_s, end_s, clock, rng)
        presses[segment.articulation] += 1
    _open_brief(written, played.part)
    written.tracks[-1]["articulation"] = "detache"
    for name, key in keys.items():
        _declare(written, name, ("key", key, -1), presses[name], {"key": key, "held": True})


def controller_zones(written: Written, played: PlayedIn, clock: Clock, rng: Random) -> None:
    """A controller jumps to a value in the zone of the next articulation."""
    chunk = _music(written, played, clock, played.part)
    controller = rng.choice(_SWITCH_CONTROLLERS)
    zones = {name: step * _ZONE for step, name in enumerate(_used(played))}
    is_exact, lead_s = rng.random() < 0.5, rng.choice((0.0, 0.01, 0.04))
    presses = dict.fromkeys(zones, 0)
    for segment in _segments(played.pressed):
        at_s = segment.pressed[0].onset_s - _lead_s(segment, lead_s)
        within = _ZONE // 2 if is_exact else rng.randrange(_ZONE)
        chunk.control(clock.tick_at(at_s), controller, zones[segment.articulation] + within, 0)
        presses[segment.articulation] += 1
    _open_brief(written, played.part)
    for name, low in zones.items():
        table = {"controller": controller, "values": (low, low + _ZONE - 1)}
        trigger = ("controller", controller, low + _ZONE // 2)
        _declare(written, name, trigger, presses[name], table)


def programs(written: Written, played: PlayedIn, clock: Clock, rng: Random) -> None:
    """A program for each articulation: by General MIDI where it has one, or a writer's own list."""
    chunk = _music(written, played, clock, played.part)
    used = _used(played)
    if rng.random() < 0.5:
        base = _GENERAL_MIDI_ARCO[played.instrument]
        others = [n for n in used if n not in _GENERAL_MIDI]
        numbers = {name: 60 + step for step, name in enumerate(others)} | _GENERAL_MIDI
        numbers[others[0] if others else "detache"] = base
    else:
        numbers = {name: step for step, name in enumerate(used)}
    lead_s = rng.choice((0.0, 0.01, 0.04))
    presses = dict.fromkeys(used, 0)
    for segment in _segments(played.pressed):
        at_s = segment.pressed[0].onset_s - _lead_s(segment, lead_s)
        chunk.program(clock.tick_at(at_s), numbers[segment.articulation], 0)
        presses[segment.articulation] += 1
    _open_brief(written, played.part)
    for name in used:
        number = numbers[name]
        _declare(written, name, ("program", number, -1), presses[name], {"program": number + 1})


def channels(written: Written, played: PlayedIn, clock: Clock, rng: Random) -> None:
    """A channel for each articulation, all on one track."""
    used = _used(played)
    shuffled = rng.sample(used, len(used))
    channel_of = dict(zip(shuffled, _CHANNELS, strict=False))
    _music(written, played, clock, played.part, channel_of=channel_of)
    counts = {name: sum(p.note.articulation == name for p in played.pressed) for name in used}
    _open_brief(written, played.part)
    for name in used:
        channel = channel_of[name] + 1
        _declare(written, name, ("channel", channel, -1), counts[name], {"channel": channel})


def tracks(written: Written, played: PlayedIn, clock: Clock, rng: Random) -> None:
    """A track for each articulation; its name says which, or only that the notes are long."""
    names = track_names(played.part, _used(played), rng)
    for name in dict.fromkeys(names.values()):
        own = [press for press in played.pressed if names[press.note.articulation] == name]
        is_long = any(word in name for word in LONG)
        one = PlayedIn(played.part, played.instrument, own, played.levels, played.carrier)
        _music(written, one, clock, name, "timing" if is_long else "name")
        table = {"match": name, "part": played.part, "instrument": played.instrument}
        if not is_long:
            table["articulation"] = own[0].note.articulation
        written.tracks.append(table)


def timing_only(written: Written, played: PlayedIn, clock: Clock, rng: Random) -> None:
    """Nothing but the notes says how they are played."""
    _music(written, played, clock, played.part, "timing")
    rng.random()


def stray_notes(written: Written, played: PlayedIn, clock: Clock, rng: Random) -> None:
    """The same with some notes written an octave or two too low: they are music, not switches."""
    moved = []
    for press in played.pressed:
        too_low = press.pitch - rng.choice((12, 24))
        is_moved = too_low < LOWEST[played.instrument] and rng.random() < _SHARE_STRAY
        moved.append(replace(press, pitch=too_low) if is_moved and too_low > 0 else press)
    music = replace(played, pressed=keys_come_up(moved))
    _music(written, music, clock, played.part, "timing")


HABITS: Mapping[str, Habit] = {
    "latching keys": latching_keys,
    "held keys": held_keys,
    "controller": controller_zones,
    "tracks": tracks,
    "programs": programs,
    "channels": channels,
    "timing only": timing_only,
    "stray notes": stray_notes,
}


def carrier_for(rng: Random) -> int | None:
    """The controller that carries the loudness of a part; None for velocity."""
    return rng.choice((*CONTROLLERS, None))
