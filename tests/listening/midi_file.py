"""Chunks of events written as a Standard MIDI File with mido."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path

import mido

from tests.listening.clock import Clock

RELEASE, SETTING, SWITCH, ONSET = range(4)
"""Order within a tick: a released key can be struck again, and what is set holds for the note."""

BEND_CENTRE = 8192


def _message(kind: str, **values: int) -> mido.Message:
    # A check of our own, since mido's takes a tenth of the whole run.
    lowest, highest = (-8192, 8191) if kind == "pitchwheel" else (0, 127)
    if min(values.values()) < lowest or max(values.values()) > highest:
        message = f"{kind} cannot hold {values}"
        raise ValueError(message)
    return mido.Message(kind, skip_checks=True, **values)


@dataclass
class Chunk:
    """One track of the file; every event is (tick, order within the tick, message)."""

    name: str
    events: list[tuple[int, int, mido.Message]] = field(default_factory=list)

    def note(
        self, pitch: int, onset: int, release: int, velocity: int, channel: int, rank: int = ONSET
    ) -> None:
        """A key press; it lasts one tick at least."""
        on = _message("note_on", note=pitch, velocity=velocity, channel=channel)
        off = _message("note_off", note=pitch, velocity=0, channel=channel)
        self.events.append((onset, rank, on))
        self.events.append((max(release, onset + 1), RELEASE, off))

    def control(self, tick: int, controller: int, value: int, channel: int) -> None:
        """A controller message."""
        message = _message("control_change", control=controller, value=value, channel=channel)
        self.events.append((tick, SETTING, message))

    def program(self, tick: int, program: int, channel: int) -> None:
        """A program, counted from 0."""
        message = _message("program_change", program=program, channel=channel)
        self.events.append((tick, SETTING, message))

    def bend(self, tick: int, value: int, channel: int) -> None:
        """A bend as 14 bits, 0 to 16383."""
        message = _message("pitchwheel", pitch=value - BEND_CENTRE, channel=channel)
        self.events.append((tick, SETTING, message))

    def bend_range(self, semitones: int, channel: int) -> None:
        """Registered parameter 0 at the very start, closed with the null parameter."""
        pairs = ((101, 0), (100, 0), (6, semitones), (38, 0), (101, 127), (100, 127))
        for controller, value in pairs:
            self.control(0, controller, value, channel)


def write_file(path: Path, clock: Clock, chunks: Iterable[Chunk]) -> Path:
    """Format 1; the first track holds tempo and metre alone."""
    file = mido.MidiFile(type=1, ticks_per_beat=clock.ticks_per_quarter)
    conductor = Chunk("")
    for tick, tempo in clock.tempos:
        conductor.events.append((tick, 0, mido.MetaMessage("set_tempo", tempo=round(tempo))))
    for tick, numerator, denominator in clock.meters:
        metre = mido.MetaMessage("time_signature", numerator=numerator, denominator=denominator)
        conductor.events.append((tick, 0, metre))
    file.tracks = [_track(chunk) for chunk in (conductor, *chunks)]
    file.save(path)
    return path


def _track(chunk: Chunk) -> mido.MidiTrack:
    track = mido.MidiTrack()
    if chunk.name:
        track.append(mido.MetaMessage("track_name", name=chunk.name))
    before = 0
    for tick, _, message in sorted(chunk.events, key=lambda event: event[:2]):
        message.time = tick - before
        track.append(message)
        before = tick
    return track
