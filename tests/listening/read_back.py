"""A file read with mido alone: what a rendering really holds."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from pathlib import Path

import mido

Press = tuple[int, int, int, int]
"""Onset, release, pitch, velocity."""


@dataclass
class ReadChunk:
    """One track; `values` holds (tick, channel, number, value) of controllers in order."""

    name: str = ""
    presses: list[Press] = field(default_factory=list)
    channel_of: dict[tuple[int, int], int] = field(default_factory=dict)
    values: list[tuple[int, int, int, int]] = field(default_factory=list)
    programs: list[tuple[int, int]] = field(default_factory=list)
    bends: dict[int, list[tuple[int, int]]] = field(default_factory=lambda: defaultdict(list))
    sequence: list[tuple[int, mido.Message]] = field(default_factory=list)


def read_chunks(path: Path) -> list[ReadChunk]:
    """Every track; a key that is struck while it is down is an error."""
    return [_read(track) for track in mido.MidiFile(path).tracks]


def _read(track: mido.MidiTrack) -> ReadChunk:
    chunk, tick = ReadChunk(), 0
    down: dict[tuple[int, int], tuple[int, int]] = {}
    for message in track:
        tick += message.time
        if message.is_meta:
            chunk.name = message.name if message.type == "track_name" else chunk.name
            continue
        chunk.sequence.append((tick, message))
        _take(chunk, tick, message, down)
    assert not down, "keys still down at the end"
    return chunk


def _take(
    chunk: ReadChunk, tick: int, message: mido.Message, down: dict[tuple[int, int], tuple[int, int]]
) -> None:
    if message.type == "note_on":
        key = (message.channel, message.note)
        assert key not in down, f"{key} struck twice, tick {tick}"
        down[key] = (tick, message.velocity)
        chunk.channel_of[tick, message.note] = message.channel
    elif message.type == "note_off":
        onset, velocity = down.pop((message.channel, message.note))
        chunk.presses.append((onset, tick, message.note, velocity))
    elif message.type == "control_change":
        chunk.values.append((tick, message.channel, message.control, message.value))
    elif message.type == "program_change":
        chunk.programs.append((tick, message.program))
    elif message.type == "pitchwheel":
        chunk.bends[message.channel].append((tick, message.pitch))
