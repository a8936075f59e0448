"""A dense mock-up in memory: eight minutes, five parts, some 400,000 events."""

from __future__ import annotations

import random
import struct

TICKS_PER_QUARTER = 960
_PARTS = (("Violin 1", 76), ("Violin 2", 67), ("Viola", 60), ("Cello", 48), ("Bass", 36))
_NOTES_PER_PART = 930
_CURVE_EVENTS_PER_PART = 78_000
_LENGTH_TICKS = 8 * 60 * 2 * TICKS_PER_QUARTER


def _number(value: int) -> bytes:
    out = [value & 127]
    while value := value >> 7:
        out.append(128 | value & 127)
    return bytes(reversed(out))


def _chunk(tag: bytes, body: bytes) -> bytes:
    return tag + struct.pack(">I", len(body)) + body


def _part(channel: int, name: str, pitch: int, rng: random.Random, *, running: bool) -> bytes:
    events: list[tuple[int, bytes]] = []
    step = _LENGTH_TICKS // _NOTES_PER_PART
    for note in range(_NOTES_PER_PART):
        key = pitch + rng.choice((0, 2, 4, 5, 7, 9, 11, 12))
        events.append((note * step, bytes((0x90 | channel, key, rng.randrange(40, 120)))))
        events.append((note * step + step * 9 // 10, bytes((0x80 | channel, key, 64))))
    ticks = sorted(rng.randrange(_LENGTH_TICKS) for _ in range(_CURVE_EVENTS_PER_PART))
    for row, tick in enumerate(ticks):
        # Runs of one kind, as sequencers write a drawn curve, let running status do its work.
        kind = (0xB0, 0xB0, 0xE0, 0xB0)[row // 40 % 4]
        first = rng.randrange(128) if kind == 0xE0 else (1, 11)[row // 40 % 2]
        events.append((tick, bytes((kind | channel, first, rng.randrange(128)))))
    events.sort(key=lambda event: event[0])
    text = name.encode()
    body = bytearray(b"\x00\xff\x03" + bytes((len(text),)) + text)
    before, status = 0, -1
    for tick, message in events:
        body += _number(tick - before)
        body += message[1:] if running and message[0] == status else message
        before, status = tick, message[0]
    body += b"\x00\xff\x2f\x00"
    return _chunk(b"MTrk", bytes(body))


def dense_mockup(*, running: bool) -> bytes:
    """The bytes of the file, the same at every call; `running` leaves out repeated status bytes."""
    rng = random.Random(20)
    conductor = b"\x00\xff\x51\x03\x07\xa1\x20\x00\xff\x58\x04\x04\x02\x18\x08\x00\xff\x2f\x00"
    parts = [
        _part(channel, name, pitch, rng, running=running)
        for channel, (name, pitch) in enumerate(_PARTS)
    ]
    header = struct.pack(">HHH", 1, 1 + len(parts), TICKS_PER_QUARTER)
    return _chunk(b"MThd", header) + _chunk(b"MTrk", conductor) + b"".join(parts)
