"""One track for each line of a divided part, with the switches and curves of the one before."""

from __future__ import annotations

import codecs
from collections.abc import Mapping
from string import ascii_lowercase

import mido

from mockcheck.export._source import Chunk, Message
from mockcheck.model.played import Role

_CARRIED = ("channel_prefix", "midi_port", "device_name", "instrument_name", "program_name")
"""What says where a track goes belongs to every line; tempo, bars, keys and texts stay in one."""

_WIDE = ((codecs.BOM_UTF16_LE, "utf-16-le"), (codecs.BOM_UTF16_BE, "utf-16-be"))
_AS_BYTES = "latin-1"
"""mido holds a text as its bytes, a letter each."""


def letter(line: int) -> str:
    """'a' for the first line, 'b' for the second."""
    return ascii_lowercase[line % len(ascii_lowercase)]


def split_tracks(
    chunk: Chunk,
    lines: Mapping[int, tuple[Role, Mapping[int, int]]],
    *,
    is_alone: bool,
) -> tuple[list[mido.MidiTrack], dict[str, tuple[str, ...]]]:
    """The tracks that take the place of a chunk whose parts divide, the first lines in front.

    Parameters
    ----------
    lines
        By row of the track list: the row, and the line of every note of its music, by event.
    is_alone
        The row is all there is in the chunk, so the chunk may take the name of its first line.

    Returns
    -------
    The tracks, and the new names by the old one.
    """
    below = {event for _, line in lines.values() for event, number in line.items() if number}
    first = chunk.track(_with_releases(chunk, below))
    tracks, names = [first], {}
    for role, line in lines.values():
        count = max(line.values()) + 1
        named = _name_of(chunk) if is_alone else None
        old = role.part if named is None else named
        own = [_with_letter(old, letter(number)) for number in range(count)]
        names[role.name] = tuple(f"{role.name} {letter(number)}" for number in range(count))
        if is_alone:
            _rename(first, own[0])
        for number in range(1, count):
            track = chunk.track(_left_out(chunk, role, line, number), role.channels)
            _rename(track, own[number])
            tracks.append(track)
    return tracks, names


def _left_out(chunk: Chunk, role: Role, line: Mapping[int, int], number: int) -> set[int]:
    """Everything but the notes of a line, and the switches and curves of its channels."""
    others = {event for event, own in line.items() if own != number}
    return _with_releases(chunk, others) | {
        event
        for event, message in enumerate(chunk.messages)
        if message is not None and not _is_carried(message, role)
    }


def _is_carried(message: Message, role: Role) -> bool:
    if message.is_meta:
        return message.type in _CARRIED
    return message.type != "sysex" and message.channel + 1 in role.channels


def _with_releases(chunk: Chunk, notes: set[int]) -> set[int]:
    return notes | {chunk.off_of[event] for event in notes if event in chunk.off_of}


def _name_of(chunk: Chunk) -> str | None:
    return next((m.name for m in chunk.messages if m is not None and m.type == "track_name"), None)


def _with_letter(name: str, sign: str) -> str:
    """A letter behind a name, in the code that the name is written in."""
    raw = name.encode(_AS_BYTES, "replace")
    code = next((code for mark, code in _WIDE if raw.startswith(mark)), "ascii")
    return (raw + f" {sign}".encode(code)).decode(_AS_BYTES)


def _rename(track: mido.MidiTrack, name: str) -> None:
    """The first name of a track is the one that counts."""
    for place, message in enumerate(track):
        if message.type == "track_name":
            track[place] = message.copy(name=name)
            return
    track.insert(0, mido.MetaMessage("track_name", name=name))
