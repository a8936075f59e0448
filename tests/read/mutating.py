"""Damaged MIDI files, and what must hold for whatever is still read from one."""

from __future__ import annotations

import random
from pathlib import Path

from mockcheck.model.score import Score
from tests.read.building import TEMPO_120, bend, control, meta, off, on, program, smf, track

QUIRKS = Path(__file__).parents[2] / "fixtures" / "quirks"


def sources() -> list[bytes]:
    curves = [control(3, 1, value) + bend(2, 64 * value) for value in range(40)]
    strings = smf(
        track(TEMPO_120, meta(0x58, b"\x03\x02\x18\x08"), meta(6, b"Letter A", 480)),
        track(meta(3, b"Violin"), program(0, 40), on(0, 67), *curves, off(60, 67), on(0, 69)),
        track(
            meta(0x21, b"\x01"), control(0, 64, 127), on(9, 48, 3), on(1, 55, 3), off(500, 48, 3)
        ),
    )
    files = [strings, *(path.read_bytes() for path in sorted(QUIRKS.glob("*.[mr]*")))]
    return [data for data in files if len(data) > 14]


def mutate(data: bytes, rng: random.Random) -> bytes:
    out = bytearray(data)
    for _ in range(rng.choice((1, 1, 2, 3, 8, 30))):
        at = rng.randrange(len(out)) if out else 0
        kind = rng.randrange(8)
        if kind == 0:
            out[at : at + 1] = rng.randbytes(1)
        elif kind == 1:
            out[at : at + 1] = bytes(byte ^ 1 << rng.randrange(8) for byte in out[at : at + 1])
        elif kind == 2:
            out[at : at + rng.randrange(1, 5)] = b""
        elif kind == 3:
            out[at:at] = rng.randbytes(rng.randrange(1, 6))
        elif kind == 4:
            out[at : at + 4] = rng.choice((b"\xff\xff\xff\xff", bytes(4), b"\x7f\xff\xff\xff"))
        elif kind == 5:
            out[at:at] = out[at : at + rng.randrange(1, 60)]
        elif kind == 6:
            out[at:at] = rng.choice((b"MTrk", b"MThd", b"\xff\x2f\x00", b"\xf0", b"\xff\x03"))
        elif len(out) > 20:
            del out[max(14, at) :]
    return bytes(out)


def assert_sound(score: Score, size_bytes: int) -> None:
    """What a score promises, however damaged the file of that size was."""
    for part in score.tracks:
        assert (part.notes.release_ticks >= part.notes.onset_ticks).all()
        assert (part.notes.sound_end_s >= part.notes.release_s).all()
        assert (part.notes.pitch < 128).all()
    kinds = [(warning.code, warning.track) for warning in score.warnings]
    assert len(kinds) == len(set(kinds))
    for warning in score.warnings:
        assert warning.byte_offset is None or 0 <= warning.byte_offset <= size_bytes
