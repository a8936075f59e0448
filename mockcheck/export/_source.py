"""The events of a file, one for one, ready to be changed and saved again."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from typing import Any

import mido
from mido.midifiles.meta import KeySignatureError, UnknownMetaMessage, build_meta_message

from mockcheck.model.notes import Notes
from mockcheck.read.container import find_midi
from mockcheck.read.raw import RawTrack
from mockcheck.read.smf import read_smf

Message = Any
"""A mido message; the package has no types."""

_META, _SYSEX, _ESCAPE = 0xFF, 0xF0, 0xF7
_END_OF_TRACK = 0x2F
_FIRST, _IN_PLACE, _LAST = range(3)
"""Where something put in stands among the events of its tick: releases first, onsets last."""


@dataclass
class Chunk:
    """The events of one MTrk chunk and what is to be done to them.

    Parameters
    ----------
    ticks, messages
        Every event in the order of the file; None for one that cannot be saved again.
    end_ticks
        Tick of the end of track.
    off_of
        The event that releases the note which begins at an event; notes without one are left out.
    gone
        Events that are taken out.
    put
        What is put in: tick, place among the events of that tick, the event it stands for (-1 for
        none), and the message.
    """

    ticks: list[int]
    messages: list[Message]
    end_ticks: int
    off_of: Mapping[int, int] = field(default_factory=dict)
    gone: set[int] = field(default_factory=set)
    put: list[tuple[int, int, float, Message]] = field(default_factory=list)

    @property
    def is_changed(self) -> bool:
        """Whether anything is to be done."""
        return bool(self.gone or self.put)

    def take_out(self, note_on: int) -> None:
        """A note and its release."""
        self.gone |= {note_on, self.off_of.get(note_on, note_on)}

    def move(self, note_on: int, onset_ticks: int, release_ticks: int) -> None:
        """A note to another place; key and velocity stay."""
        self.take_out(note_on)
        self.put.append((onset_ticks, _LAST, note_on, self.messages[note_on]))
        off = self.off_of.get(note_on)
        if off is not None:
            self.put.append((release_ticks, _FIRST, note_on, self.messages[off]))

    def replace(self, event: int, message: Message) -> None:
        """An event by another in the same place."""
        self.gone.add(event)
        self.put.append((self.ticks[event], _IN_PLACE, event, message))

    def insert(self, tick: int, message: Message) -> None:
        """A message before the onsets of a tick, behind what else stands there."""
        self.put.append((tick, _IN_PLACE, -1, message))

    def track(
        self, left_out: Collection[int] = (), channels: Collection[int] = range(1, 17)
    ) -> mido.MidiTrack:
        """The changed events with delta times, without some; what is put in only on channels."""
        rows: list[tuple[int, int, float, Message]] = [
            (tick, _IN_PLACE, event, message)
            for event, (tick, message) in enumerate(zip(self.ticks, self.messages, strict=True))
            if message is not None and event not in self.gone and event not in left_out
        ]
        # Among the events of a tick those that stay keep the order of the file.
        first_on = _first_onsets(rows)
        rows += [
            (tick, rank, event if event >= 0 else first_on.get(tick, len(self.ticks)) - 0.5, what)
            for tick, rank, event, what in self.put
            if event not in left_out and what.channel + 1 in channels
        ]
        track, before = mido.MidiTrack(), 0
        for tick, _, _, message in sorted(rows, key=lambda row: row[:3]):
            track.append(message.copy(time=tick - before))
            before = tick
        end_ticks = max(self.end_ticks, before)
        track.append(mido.MetaMessage("end_of_track", time=end_ticks - before))
        return track


def _first_onsets(rows: list[tuple[int, int, float, Message]]) -> dict[int, float]:
    """The first key that goes down at each tick."""
    first: dict[int, float] = {}
    for tick, _, event, message in rows:
        if message.type == "note_on" and message.velocity:
            first.setdefault(tick, event)
    return first


def open_source(content: bytes, file: str) -> tuple[mido.MidiFile, list[Chunk]]:
    """An empty file with the header of the source, and the chunks that go into it.

    Raises UnreadableInput as reading does.
    """
    raw = read_smf(content, file)
    begin, _, _ = find_midi(content, file)
    division = int.from_bytes(content[begin + 12 : begin + 14], "big", signed=True)
    midi = mido.MidiFile(type=raw.smf_format, ticks_per_beat=division)
    return midi, [_read_chunk(content, track) for track in raw.tracks]


def pair(chunk: Chunk, notes: Notes) -> None:
    """Learn which event releases which of the notes of a chunk."""
    waiting: dict[tuple[int, int, int], list[int]] = {}
    for event, message in enumerate(chunk.messages):
        if message is not None and _is_release(message):
            key = chunk.ticks[event], message.channel + 1, message.note
            waiting.setdefault(key, []).append(event)
    off_of: dict[int, int] = {}
    for row in range(len(notes)):
        on = int(notes.event_index[row])
        key = int(notes.release_ticks[row]), int(notes.channel[row]), int(notes.pitch[row])
        later = [event for event in waiting.get(key, []) if event > on]
        if later:
            off_of[on] = later[0]
            waiting[key].remove(later[0])
    chunk.off_of = off_of


def _is_release(message: Message) -> bool:
    return message.type == "note_off" or (message.type == "note_on" and not message.velocity)


def _read_chunk(content: bytes, raw: RawTrack) -> Chunk:
    ticks = raw.event_ticks.tolist()
    messages: list[Message] = [None] * len(ticks)
    own = raw.messages
    columns = (own.event_index, own.kind, own.channel, own.data1, own.data2)
    for event, kind, channel, data1, data2 in zip(*(c.tolist() for c in columns), strict=True):
        status = kind << 4 | (channel - 1)
        is_short = kind in (12, 13)
        messages[event] = mido.Message.from_bytes([status, data1] + [data2] * (not is_short))
    for event, offset in enumerate(raw.event_offsets.tolist()):
        if messages[event] is None:
            messages[event] = _read_other(content, _behind_number(content, offset))
    return Chunk(ticks, messages, raw.end_ticks)


def _read_other(content: bytes, at: int) -> Message:
    """A meta or exclusive event; None for the end of track and what no file may hold.

    Source: Standard MIDI Files 1.0, Track Chunks.
    """
    status = content[at]
    if status == _META:
        body = _body(content, at + 2)
        return None if content[at + 1] == _END_OF_TRACK else _meta(content[at + 1], body)
    if status not in (_SYSEX, _ESCAPE):
        return None
    body = _body(content, at + 1).removesuffix(bytes([_ESCAPE]))
    return None if max(body, default=0) > 127 else mido.Message("sysex", data=body)


def _meta(kind: int, body: bytes) -> Message:
    """What mido would write otherwise than it stands is kept as bytes."""
    plain = UnknownMetaMessage(kind, data=list(body))
    try:
        known = build_meta_message(kind, list(body))
    except (ValueError, IndexError, KeyError, TypeError, KeySignatureError):
        return plain
    return known if known.bytes() == plain.bytes() else plain


def _behind_number(content: bytes, at: int) -> int:
    while content[at] > 127:
        at += 1
    return at + 1


def _body(content: bytes, at: int) -> bytes:
    behind = _behind_number(content, at)
    length = 0
    for byte in content[at:behind]:
        length = length << 7 | byte & 127
    return content[behind : behind + length]
