"""A minute of dense bends on ten tracks in memory: 500,000 of them, vibrato with slides between."""

from __future__ import annotations

import math
import random
import struct
from bisect import bisect_right

TICKS_PER_QUARTER = 960
LENGTH_S = 60
BENDS_PER_TRACK = 50_000
_PARTS = (("Violin 1", 76), ("Violin 2", 67), ("Viola", 60), ("Cello", 48), ("Bass", 36))
_LENGTH_TICKS = LENGTH_S * 2 * TICKS_PER_QUARTER
_RANGE_SEMITONES = 12
_UNUSED_CONTROLLER = 20
"""Undefined in the standard: as many messages that nobody listens to."""
_SWING_CENTS = 20

Note = tuple[int, int, int]
"""Onset and release in ticks, and key."""


def dense_bends(*, as_controller: bool = False, slide_every: int = 0) -> bytes:
    """The bytes of the file, the same at every call.

    `as_controller` sends each value on a controller without meaning instead; of the notes every
    so many slide into the next.
    """
    header = struct.pack(">HHH", 1, 11, TICKS_PER_QUARTER)
    conductor = b"\x00\xff\x51\x03\x07\xa1\x20\x00\xff\x58\x04\x04\x02\x18\x08\x00\xff\x2f\x00"
    chunks = [_chunk(b"MTrk", conductor)]
    for number in range(10):
        name, lowest = _PARTS[number % 5]
        rng = random.Random(number)
        notes = _melody(lowest, rng)
        events = [(0, 0, bytes((0xB0, key, value))) for key, value in
                  ((101, 0), (100, 0), (6, _RANGE_SEMITONES))]  # fmt: skip
        for onset, release, key in notes:
            events.append((onset, 2, bytes((0x90, key, 80))))
            events.append((release, 1, bytes((0x80, key, 64))))
        events += _bends(notes, slide_every, as_controller=as_controller)
        chunks.append(_track(f"{name} {'ab'[number // 5]}", events))
    return _chunk(b"MThd", header) + b"".join(chunks)


def _melody(lowest: int, rng: random.Random) -> list[Note]:
    notes, tick = [], 0
    while tick < _LENGTH_TICKS - TICKS_PER_QUARTER:
        length = TICKS_PER_QUARTER * rng.choice((1, 2, 2, 4)) // 4
        notes.append((tick, tick + length + 10, lowest + rng.choice((0, 2, 4, 5, 7, 9, 11, 12))))
        tick += length
    return notes


def _bends(
    notes: list[Note], slide_every: int, *, as_controller: bool
) -> list[tuple[int, int, bytes]]:
    onsets = [onset for onset, _, _ in notes]
    events = []
    for step in range(BENDS_PER_TRACK):
        tick = step * _LENGTH_TICKS // BENDS_PER_TRACK
        cents = _SWING_CENTS * math.sin(2 * math.pi * 6 * tick / (2 * TICKS_PER_QUARTER))
        place = bisect_right(onsets, tick) - 1
        if slide_every and place % slide_every == 0 and place + 1 < len(notes):
            share = (tick - onsets[place]) / (onsets[place + 1] - onsets[place])
            travel = 100 * (notes[place + 1][2] - notes[place][2])
            cents += travel * min(max((share - 0.7) / 0.3, 0), 1)
        value = 8192 + round(8192 * cents / (100 * _RANGE_SEMITONES))
        value = min(max(value, 0), 16383)
        if as_controller:
            events.append((tick, 0, bytes((0xB0, _UNUSED_CONTROLLER, value >> 7))))
        else:
            events.append((tick, 0, bytes((0xE0, value & 127, value >> 7))))
    return events


def _track(name: str, events: list[tuple[int, int, bytes]]) -> bytes:
    text = name.encode()
    body = bytearray(b"\x00\xff\x03" + bytes((len(text),)) + text)
    before = 0
    for tick, _, message in sorted(events, key=lambda event: event[:2]):
        body += _number(tick - before) + message
        before = tick
    return _chunk(b"MTrk", bytes(body + b"\x00\xff\x2f\x00"))


def _number(value: int) -> bytes:
    out = [value & 127]
    while value := value >> 7:
        out.append(128 | value & 127)
    return bytes(reversed(out))


def _chunk(tag: bytes, body: bytes) -> bytes:
    return tag + struct.pack(">I", len(body)) + body
