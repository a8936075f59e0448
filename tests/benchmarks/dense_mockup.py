"""A dense mock-up in memory: eight minutes, five parts, some 400,000 events, or any other size."""

from __future__ import annotations

import math
import random
import struct

TICKS_PER_QUARTER = 960
_TICKS_PER_MINUTE = 2 * 60 * TICKS_PER_QUARTER
_PARTS = (("Violin 1", 76), ("Violin 2", 67), ("Viola", 60), ("Cello", 48), ("Bass", 36))
_PERCUSSION_CHANNEL = 9
_MOST_PARTS = 15
_BELOW_EVERY_STRING = 30
"""Semitones that take a note of any part below its lowest open string."""
_SWELL_TICKS = 8 * TICKS_PER_QUARTER
_VIBRATO_TICKS = TICKS_PER_QUARTER // 3
_VIBRATO_STEPS = 400
_RUN = 40
"""Events of one kind after each other."""


def _number(value: int) -> bytes:
    out = [value & 127]
    while value := value >> 7:
        out.append(128 | value & 127)
    return bytes(reversed(out))


def _chunk(tag: bytes, body: bytes) -> bytes:
    return tag + struct.pack(">I", len(body)) + body


def _name(number: int) -> tuple[str, int]:
    name, pitch = _PARTS[number % 5]
    turn = number // 5
    if turn and number % 5 < 2:
        return f"Violin {2 * turn + number % 5 + 1}", pitch
    return (f"{name} {turn + 1}" if turn else name), pitch


def _curve_bytes(kind: int, row: int, tick: int, rng: random.Random, *, drawn: bool) -> bytes:
    """The two values of an event of a curve: drawn as hands and sequencers do it, or noise."""
    if not drawn:
        first = rng.randrange(128) if kind == 0xE0 else (1, 11)[row // _RUN % 2]
        return bytes((first, rng.randrange(128)))
    if kind == 0xE0:
        # Every run of bends grows from the middle and comes back to it.
        width = _VIBRATO_STEPS * math.sin(math.pi * (row % _RUN) / (_RUN - 1))
        bend = 8192 + round(width * math.sin(2 * math.pi * tick / _VIBRATO_TICKS))
        return bytes((bend & 127, bend >> 7))
    level = 80 + round(30 * math.sin(2 * math.pi * tick / _SWELL_TICKS))
    return bytes(((1, 11)[row // _RUN % 2], level))


def _part(
    number: int, sizes: tuple[int, int, int, int], rng: random.Random, *, running: bool, drawn: bool
) -> bytes:
    notes, curve_events, length_ticks, low_every = sizes
    name, pitch = _name(number)
    channel = number + (number >= _PERCUSSION_CHANNEL)
    events: list[tuple[int, bytes]] = []
    step = length_ticks // notes
    for note in range(notes):
        key = pitch + rng.choice((0, 2, 4, 5, 7, 9, 11, 12))
        if low_every and note % low_every == 0:
            key = pitch - _BELOW_EVERY_STRING
        events.append((note * step, bytes((0x90 | channel, key, rng.randrange(40, 120)))))
        events.append((note * step + step * 9 // 10, bytes((0x80 | channel, key, 64))))
    ticks = sorted(rng.randrange(length_ticks) for _ in range(curve_events))
    for row, tick in enumerate(ticks):
        # Runs of one kind, as sequencers write a drawn curve, let running status do its work.
        kind = (0xB0, 0xB0, 0xE0, 0xB0)[row // _RUN % 4]
        content = _curve_bytes(kind, row, tick, rng, drawn=drawn)
        events.append((tick, bytes((kind | channel,)) + content))
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


def dense_mockup(
    *,
    running: bool,
    parts: int = 5,
    notes: int = 930,
    curve_events: int = 78_000,
    minutes: float = 8,
    low_every: int = 0,
    drawn: bool = False,
) -> bytes:
    """The bytes of the file, the same at every call.

    `running` leaves out repeated status bytes; `notes` and `curve_events` are those of one part,
    spread over the length; of the notes every `low_every`-th lies below every string. Curves are
    `drawn`, as swells and a vibrato, or noise, which is the hardest to listen to.
    """
    assert parts <= _MOST_PARTS, "each part has a channel of its own"
    rng = random.Random(20)
    conductor = b"\x00\xff\x51\x03\x07\xa1\x20\x00\xff\x58\x04\x04\x02\x18\x08\x00\xff\x2f\x00"
    sizes = notes, curve_events, round(minutes * _TICKS_PER_MINUTE), low_every
    chunks = [_part(number, sizes, rng, running=running, drawn=drawn) for number in range(parts)]
    header = struct.pack(">HHH", 1, 1 + len(chunks), TICKS_PER_QUARTER)
    return _chunk(b"MThd", header) + _chunk(b"MTrk", conductor) + b"".join(chunks)
