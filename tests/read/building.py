"""MIDI files for the reading tests: whole ones through mido, odd ones byte by byte."""

from __future__ import annotations

import io
import struct
from collections.abc import Iterable

import mido

from mockcheck.model.score import Score
from mockcheck.read import read_bytes
from mockcheck.read.raw import Messages, RawTrack
from mockcheck.read.smf import read_smf

END = b"\x00\xff\x2f\x00"
TEMPO_120 = b"\x00\xff\x51\x03\x07\xa1\x20"


def number(value: int) -> bytes:
    """A variable-length number."""
    out = [value & 127]
    while value := value >> 7:
        out.append(128 | value & 127)
    return bytes(reversed(out))


def chunk(tag: bytes, body: bytes, length: int | None = None) -> bytes:
    return tag + struct.pack(">I", len(body) if length is None else length) + body


def header(smf_format: int = 1, tracks: int = 1, division: int = 480) -> bytes:
    return chunk(b"MThd", struct.pack(">HHH", smf_format, tracks, division))


def track(*events: bytes, end: bytes = END, length: int | None = None) -> bytes:
    return chunk(b"MTrk", b"".join(events) + end, length)


def meta(kind: int, content: bytes = b"", delta: int = 0) -> bytes:
    return number(delta) + bytes((0xFF, kind)) + number(len(content)) + content


def event(delta: int, *message: int) -> bytes:
    return number(delta) + bytes(message)


def on(delta: int, key: int, channel: int = 1, velocity: int = 80) -> bytes:
    return event(delta, 0x8F + channel, key, velocity)


def off(delta: int, key: int, channel: int = 1) -> bytes:
    return event(delta, 0x7F + channel, key, 64)


def control(delta: int, controller: int, value: int, channel: int = 1) -> bytes:
    return event(delta, 0xAF + channel, controller, value)


def bend(delta: int, value: int, channel: int = 1) -> bytes:
    steps = value + 8192
    return event(delta, 0xDF + channel, steps & 127, steps >> 7)


def program(delta: int, value: int, channel: int = 1) -> bytes:
    return event(delta, 0xBF + channel, value)


def smf(*tracks: bytes, smf_format: int = 1, division: int = 480) -> bytes:
    return header(smf_format, len(tracks), division) + b"".join(tracks)


def score_of(*tracks: bytes, smf_format: int = 1, division: int = 480) -> Score:
    """The score of a file with a tempo of 120 in its first track and these tracks behind it."""
    first = () if smf_format != 1 else (track(TEMPO_120),)
    return read_bytes(smf(*first, *tracks, smf_format=smf_format, division=division), "test.mid")


def raw_of(*events: bytes) -> RawTrack:
    """One track alone, as raw events."""
    return read_smf(smf(track(*events), smf_format=0), "test.mid").tracks[0]


def messages_of(*events: bytes) -> Messages:
    return raw_of(*events).messages


def codes(score: Score) -> list[str]:
    return [warning.code for warning in score.warnings]


def mido_bytes(tracks: Iterable[mido.MidiTrack], smf_format: int = 1, division: int = 480) -> bytes:
    """A file as mido writes it."""
    file = mido.MidiFile(type=smf_format, ticks_per_beat=division, tracks=list(tracks))
    out = io.BytesIO()
    file.save(file=out)
    return out.getvalue()
