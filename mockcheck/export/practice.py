"""A spot to practise with: its bars and a click, slower than written, as MIDI files."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from mockcheck.export._ascii import to_ascii
from mockcheck.model.played import PlayedPart
from mockcheck.model.time import Timeline
from mockcheck.plan._phrases import bars_of_notes
from mockcheck.plan.clicks import Clicks
from mockcheck.plan.ladders import Rung
from mockcheck.plan.rehearsal import Exercise, Rehearsal
from mockcheck.plan.spots import Spot

if TYPE_CHECKING:
    import mido

CLICK_CHANNEL = 9
"""Channel 10 as musicians count: percussion. Source: General MIDI System Level 1."""
ACCENT_KEY, BEAT_KEY = 76, 77
"""High and low wood block. Source: General MIDI Percussion Key Map."""
_ACCENT_VELOCITY, _BEAT_VELOCITY, _BETWEEN_VELOCITY = 120, 95, 55
_CLICKS_IN_QUARTER = 16
_SLOWEST_QUARTER_US = 0xFFFFFF
"""Set Tempo has 24 bits. Source: Standard MIDI Files 1.0."""
_CHANNELS = [channel for channel in range(16) if channel != CLICK_CHANNEL]
_PROGRAMS = {"violin": 40, "viola": 41, "cello": 42, "double bass": 43}
_ALL_STRINGS = 48
"""From 0. Source: General MIDI System Level 1 Sound Set."""

_Event = tuple[int, int, "mido.Message"]
"""Tick, place among the events of that tick, message."""
_RELEASE, _SET_UP, _ONSET, _AT_ONCE = range(4)


@dataclass(frozen=True)
class PracticeFile:
    """One pass of one spot; `name` is a file name without ending, legal on every system."""

    name: str
    midi: mido.MidiFile


def practice_files(rehearsal: Rehearsal, *, subdivide: bool = False) -> Iterator[PracticeFile]:
    """Every pass of every spot, in the order of the rehearsal.

    Parameters
    ----------
    subdivide
        Add a soft click in the middle of each beat, or on its thirds under 6/8 and the like.

    Yields
    ------
    Files of format 1 with the division of the source: tempo and metre; the click, channel 10,
    accent on the first beat of a bar; a track for each track of each section. After two counted
    bars come the notes that begin in the spot, tick by tick as in the source.

    Not modelled: bends, controllers and switches; what still sounds from before the spot; tempos
    below quarter = 3.6, which a file cannot name.
    """
    for exercise in rehearsal.exercises:
        for number, rung in enumerate(exercise.ladder.rungs, start=1):
            spot = exercise.spot
            bars = f"{spot.first_bar_index + 1}-{spot.last_bar_index + 1}"
            name = f"{exercise.number:02d}-bars-{bars}-pass-{number}-{100 * rung.share:.0f}-percent"
            yield PracticeFile(name, _practice_midi(rehearsal, exercise, rung, subdivide=subdivide))


def _practice_midi(
    rehearsal: Rehearsal, exercise: Exercise, rung: Rung, *, subdivide: bool
) -> mido.MidiFile:
    import mido

    played = rehearsal.review.played
    spot, clicks = exercise.spot, exercise.ladder.clicks
    ticks_per_quarter = played.score.ticks_per_quarter
    assert ticks_per_quarter is not None
    title = f"bars {spot.first_bar_index + 1}-{spot.last_bar_index + 1} at {rung.share:.1%}"
    end_ticks = clicks.count_in_ticks + spot.end_ticks - spot.start_ticks
    tracks = [
        (title, _conductor(played.score.timeline, spot, clicks, rung.share)),
        ("Click", _click(clicks, end_ticks, ticks_per_quarter, subdivide=subdivide)),
    ]
    parts = {part.name: part for part in played.parts}
    for own in spot.parts:
        tracks += _music(parts[own.part], spot, clicks, len(tracks) - 2)
    midi = mido.MidiFile(type=1, ticks_per_beat=ticks_per_quarter)
    midi.tracks = [_track(name, events, end_ticks) for name, events in tracks]
    return midi


def _conductor(timeline: Timeline, spot: Spot, clicks: Clicks, share: float) -> list[_Event]:
    """The tempos and signatures of the spot, the first of each from the count-in on."""
    import mido

    tempo, meter = timeline.tempo, timeline.meter
    assert meter is not None
    shift = clicks.count_in_ticks - spot.start_ticks
    in_force = max(int(np.searchsorted(tempo.ticks, spot.start_ticks, side="right")) - 1, 0)
    events: list[_Event] = []
    for row in range(in_force, len(tempo.ticks)):
        tick = 0 if row == in_force else int(tempo.ticks[row]) + shift
        quarter_s = float(tempo.seconds_per_tick[row]) * meter.ticks_per_quarter / share
        quarter_us = min(max(round(quarter_s * 1e6), 1), _SLOWEST_QUARTER_US)
        if row == in_force or tempo.ticks[row] < spot.end_ticks:
            events.append((tick, _SET_UP, mido.MetaMessage("set_tempo", tempo=quarter_us)))
    signatures = [(0, clicks.numerator, clicks.denominator)]
    signatures += [
        (int(meter.ticks[row]) + shift, int(meter.numerators[row]), int(meter.denominators[row]))
        for row in range(len(meter.ticks))
        if spot.start_ticks < meter.ticks[row] < spot.end_ticks
    ]
    for tick, numerator, denominator in signatures:
        message = mido.MetaMessage("time_signature", numerator=numerator, denominator=denominator)
        events.append((tick, _SET_UP, message))
    return events


def _click(
    clicks: Clicks, end_ticks: int, ticks_per_quarter: int, *, subdivide: bool
) -> list[_Event]:
    length = max(ticks_per_quarter // _CLICKS_IN_QUARTER, 1)
    accent, beat = (ACCENT_KEY, _ACCENT_VELOCITY), (BEAT_KEY, _BEAT_VELOCITY)
    rows = [
        (int(tick), *(accent if is_accent else beat))
        for tick, is_accent in zip(clicks.ticks, clicks.is_accent, strict=True)
    ]
    if subdivide:
        between = clicks.subdivided(end_ticks).tolist()
        rows += [(tick, BEAT_KEY, _BETWEEN_VELOCITY) for tick in between]
    events: list[_Event] = []
    for tick, key, velocity in rows:
        events += _note(CLICK_CHANNEL, key, velocity, tick, tick + length)
    return events


def _music(
    part: PlayedPart, spot: Spot, clicks: Clicks, used: int
) -> list[tuple[str, list[_Event]]]:
    """A track for each track of the part, so that layers with the same key stay apart."""
    import mido

    meter = part.timeline.meter
    assert meter is not None
    bars = bars_of_notes(part, meter)
    inside = (bars >= spot.first_bar_index) & (bars <= spot.last_bar_index)
    shift = clicks.count_in_ticks - spot.start_ticks
    family = "double bass" if part.instrument.id.startswith("double bass") else part.instrument.id
    tracks: list[tuple[str, list[_Event]]] = []
    for role in part.roles:
        channel = _CHANNELS[(used + len(tracks)) % len(_CHANNELS)]
        program = _PROGRAMS.get(family, _ALL_STRINGS)
        change = mido.Message("program_change", channel=channel, program=program)
        events: list[_Event] = [(0, _SET_UP, change)]
        for row in np.flatnonzero(inside & (part.track == role.index)).tolist():
            note = part.notes.note(row)
            onset, release = note.onset_ticks + shift, note.release_ticks + shift
            events += _note(channel, note.pitch, note.velocity, onset, release)
        if len(events) > 1:
            tracks.append((part.name, events))
    return tracks


def _note(channel: int, key: int, velocity: int, onset: int, release: int) -> list[_Event]:
    import mido

    on = mido.Message("note_on", channel=channel, note=key, velocity=velocity)
    off = mido.Message("note_off", channel=channel, note=key)
    return [(onset, _ONSET, on), (release, _RELEASE if release > onset else _AT_ONCE, off)]


def _track(name: str, events: list[_Event], end_ticks: int) -> mido.MidiTrack:
    import mido

    track = mido.MidiTrack([mido.MetaMessage("track_name", name=to_ascii(name))])
    before = 0
    for tick, _, message in sorted(events, key=lambda event: event[:2]):
        track.append(message.copy(time=tick - before))
        before = tick
    track.append(mido.MetaMessage("end_of_track", time=max(end_ticks - before, 0)))
    return track
