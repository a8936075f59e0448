"""The events of one track: first where each begins, then all of them at once as columns."""

from __future__ import annotations

from array import array
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from mockcheck.model.score import ReadWarning
from mockcheck.read.raw import (
    CHANNEL_PRESSURE,
    CONTROLLER,
    KEY_PRESSURE,
    NOTE_OFF,
    NOTE_ON,
    PROGRAM,
    Messages,
    RawMeta,
    RawTrack,
    counted,
)

MAX_NUMBER_BYTES = 4
"""Standard MIDI Files 1.0, Conventions: a variable-length number has at most four bytes."""

MAX_TEXT_BYTES = 10_000
"""Longer texts are cut: a name or marker is a line, and a report must not carry a book."""

_NO_STATUS = 1 << 40
"""Stands in for the size of a message while no status byte was seen; beyond any file's end."""

_META, _SYSEX, _ESCAPE = 0xFF, 0xF0, 0xF7
_END_OF_TRACK = 0x2F
_PORT = 0x21
_KEPT_METAS = frozenset({*range(1, 10), _PORT, 0x51, 0x54, 0x58, 0x59})
_TEXT_METAS = frozenset(range(1, 10))

_MESSAGE_SIZES = bytes([0] * 128 + [4] * 64 + [3] * 32 + [4] * 16 + [0] * 16)
"""Last delta byte, status and data bytes of a channel message, by status byte; 0 for others."""

_SYSTEM_DATA_BYTES = {0xF1: 1, 0xF2: 2, 0xF3: 1}
"""Data bytes of system messages that have any. Source: MIDI 1.0 Detailed Specification 4.2,
System Common Messages."""


@dataclass
class EventPlaces:
    """Where the events of one track begin, and how the search ended.

    Parameters
    ----------
    starts
        Offset of the first delta byte of every whole event.
    others
        (event number, status offset, body offset, end offset) of what is no channel message.
    after
        First byte behind the last whole event.
    is_ended
        True when an end of track was found.
    damage
        Code, problem and offset of what made the rest unreadable, if anything did.
    cut_at
        Offset of an event that does not fit in the track, if there is one.
    """

    starts: array[int] = field(default_factory=lambda: array("I"))
    others: list[tuple[int, int, int, int]] = field(default_factory=list)
    after: int = 0
    is_ended: bool = False
    damage: tuple[str, str, int] | None = None
    cut_at: int | None = None


def find_events(data: bytes, begin: int, end: int, most_others: int) -> EventPlaces:
    """A track is a row of events, each behind the number of ticks since the one before.

    Parameters
    ----------
    data
        The whole file.
    begin, end
        First byte of the first event, and of whatever follows the track.
    most_others
        Meta, exclusive and system events to read before giving up.

    Source: Standard MIDI Files 1.0, Track Chunks.
    """
    places = EventPlaces()
    starts, append, sizes = places.starts, places.starts.append, _MESSAGE_SIZES
    place, running = begin, _NO_STATUS
    # This loop runs once for every event of the file, so it only finds places; columns are read
    # from them afterwards in one go. The nested tests are a number of up to four bytes, unrolled.
    try:
        while place < end:
            append(place)
            if data[place] > 127:
                place += 1
                if data[place] > 127:
                    place += 1
                    if data[place] > 127:
                        place += 1
                        if data[place] > 127:
                            problem = f"a delta time is longer than {MAX_NUMBER_BYTES} bytes."
                            places.damage = ("delta-time-too-long", problem, starts[-1])
                            break
            status = data[place + 1]
            if status < 128:
                place += running
            elif size := sizes[status]:
                place += size
                running = size - 1
            else:
                place = _step_over(data, place + 1, places, most_others)
                if places.is_ended or places.damage:
                    break
    except IndexError:
        place = len(data) + 1
    _settle_end(places, place, end)
    return places


def _step_over(data: bytes, at: int, places: EventPlaces, most_others: int) -> int:
    """Note down a meta, exclusive or system event; returns the first byte behind it."""
    status = data[at]
    number = len(places.starts) - 1
    if len(places.others) == most_others:
        problem = "there are more meta and exclusive events than any music needs."
        places.damage = ("too-many-meta-events", problem, at)
        return at
    if status not in (_META, _SYSEX, _ESCAPE):
        end = at + 1 + _SYSTEM_DATA_BYTES.get(status, 0)
        places.others.append((number, at, at + 1, end))
        return end
    body = at + (2 if status == _META else 1)
    length = 0
    for _ in range(MAX_NUMBER_BYTES):
        byte = data[body]
        body += 1
        length = length << 7 | byte & 127
        if byte < 128:
            break
    else:
        problem = f"the length of an event is written with more than {MAX_NUMBER_BYTES} bytes."
        places.damage = ("event-length-too-long", problem, at)
        return body
    places.others.append((number, at, body, body + length))
    places.is_ended = status == _META and data[at + 1] == _END_OF_TRACK
    return body + length


def _settle_end(places: EventPlaces, place: int, end: int) -> None:
    """Drop the event that was under way when the bytes ran out or made no sense."""
    starts = places.starts
    places.after = place
    if place <= end and not places.damage:
        return
    places.is_ended = False
    places.after = starts[-1]
    if place >= _NO_STATUS:
        problem = "an event has no status byte, and none came before it to take over."
        places.damage = ("no-running-status", problem, starts[-1])
    elif not places.damage:
        places.cut_at = starts[-1]
    starts.pop()
    if places.others and places.others[-1][0] == len(starts):
        places.others.pop()


@dataclass(frozen=True)
class _Columns:
    ticks: NDArray[np.int64]
    status_offsets: NDArray[np.int64]
    status: NDArray[np.uint8]
    is_explicit: NDArray[np.bool_]


def read_track(
    data: bytes, places: EventPlaces, index: int, *, incomplete: bool
) -> tuple[RawTrack, list[ReadWarning]]:
    """Messages and meta events of one track, and what was odd about them."""
    starts = np.array(places.starts, np.uint32)
    columns = _read_columns(data, starts)
    warnings = [
        *_warn_of_system_bytes(data, places, index),
        *_warn_of_open_exclusives(data, places, index),
        *_warn_of_broken_running_status(data, places, columns, index),
    ]
    metas = [
        _read_meta(data, other, int(columns.ticks[other[0]]))
        for other in places.others
        if data[other[1]] == _META and data[other[1] + 1] in _KEPT_METAS
    ]
    ports = [meta for meta in metas if meta.kind == _PORT and meta.content]
    messages, complaints = _read_messages(data, columns, ports, index)
    longest = max((m.byte_offset for m in metas if len(m.content) > MAX_TEXT_BYTES), default=None)
    if longest is not None:
        text = f"A text is longer than {MAX_TEXT_BYTES:,} bytes; only its start was read."
        warnings.append(ReadWarning("text-cut", text, index, longest))
    track = RawTrack(index, messages, tuple(metas), columns.ticks, starts, incomplete)
    return track, warnings + complaints


def _read_columns(data: bytes, starts: NDArray[np.uint32]) -> _Columns:
    view = np.frombuffer(data, np.uint8)
    at = starts.astype(np.int64)
    byte = view[at]
    delta = (byte & 127).astype(np.int64)
    at += 1
    more = np.flatnonzero(byte > 127)
    while len(more):
        byte = view[at[more]]
        delta[more] = delta[more] << 7 | byte & 127
        at[more] += 1
        more = more[byte > 127]
    status = view[at]
    is_explicit = status > 127
    # Running status: every event takes the status of the latest channel message that has one.
    has_own = is_explicit & (status < 0xF0)
    latest = np.maximum.accumulate(np.where(has_own, np.arange(len(at)), 0))
    return _Columns(
        np.cumsum(delta), at, np.where(is_explicit, status, status[latest]), is_explicit
    )


def _read_messages(
    data: bytes, columns: _Columns, ports: list[RawMeta], track: int
) -> tuple[Messages, list[ReadWarning]]:
    view = np.frombuffer(data, np.uint8)
    rows = np.flatnonzero(columns.status < 0xF0)
    status = columns.status[rows]
    offsets = columns.status_offsets[rows]
    first = offsets + columns.is_explicit[rows]
    kind = (status >> 4).astype(np.uint8)
    has_two = (kind != PROGRAM) & (kind != CHANNEL_PRESSURE)
    data1 = view[first]
    data2 = np.where(has_two, view[np.minimum(first + 1, len(view) - 1)], np.uint8(0))
    warnings: list[ReadWarning] = []
    if len(rows) and max(data1.max(), data2.max()) > 127:
        data1, data2, keep, warnings = _mend_data_bytes(kind, data1, data2, first, track)
    else:
        keep = np.ones(len(rows), np.bool_)
    messages = Messages(
        ticks=columns.ticks[rows],
        kind=kind,
        channel=((status & 15) + 1).astype(np.uint8),
        port=_ports_in_force(rows, ports),
        data1=data1,
        data2=data2,
        event_index=rows.astype(np.int64),
        byte_offset=offsets,
    )
    return (messages if keep.all() else messages.select(keep)), warnings


def _ports_in_force(rows: NDArray[np.intp], ports: list[RawMeta]) -> NDArray[np.uint8]:
    """Output port of each event: the latest one named, or the first one before that.

    Source: common practice, in no standard.
    """
    named = [meta.content[0] for meta in ports]
    numbers = np.array([*(named[:1] or [0]), *named], np.uint8)
    begins = np.array([meta.event_index for meta in ports], np.int64)
    return numbers[np.searchsorted(begins, rows)]


def _mend_data_bytes(
    kind: NDArray[np.uint8],
    data1: NDArray[np.uint8],
    data2: NDArray[np.uint8],
    first: NDArray[np.int64],
    track: int,
) -> tuple[NDArray[np.uint8], NDArray[np.uint8], NDArray[np.bool_], list[ReadWarning]]:
    """A strength above 127 counts as 127; any other data byte above 127 has no meaning."""
    second_is_strength = np.isin(kind, (NOTE_OFF, NOTE_ON, KEY_PRESSURE, CONTROLLER))
    high2 = (data2 > 127) & second_is_strength & (data1 < 128)
    high1 = (data1 > 127) & (kind == CHANNEL_PRESSURE)
    clipped = high1 | high2
    senseless = ((data1 > 127) | (data2 > 127)) & ~clipped
    warnings = []
    if clipped.any():
        row = int(np.argmax(clipped))
        text = (
            f"Took {counted(int(clipped.sum()), 'value')} above 127 (controller, velocity or"
            " pressure) as 127. Check the curve there, or export the file again."
        )
        warnings.append(ReadWarning("value-above-127", text, track, int(first[row] + high2[row])))
    if senseless.any():
        row = int(np.argmax(senseless))
        text = (
            f"Left out {counted(int(senseless.sum()), 'message')} with a key, number or bend byte"
            " above 127. Bytes may be missing here: export the file again."
        )
        offset = int(first[row] + (data1[row] < 128))
        warnings.append(ReadWarning("data-byte-above-127", text, track, offset))
    return np.minimum(data1, 127), np.minimum(data2, 127), ~senseless, warnings


def _read_meta(data: bytes, other: tuple[int, int, int, int], tick: int) -> RawMeta:
    number, at, body, end = other
    kind = data[at + 1]
    # One byte more than we use shows that a text was cut.
    last = min(end, body + MAX_TEXT_BYTES + 1) if kind in _TEXT_METAS else min(end, body + 8)
    return RawMeta(kind, data[body:last], tick, at, body, number)


def _warn_of_system_bytes(data: bytes, places: EventPlaces, track: int) -> list[ReadWarning]:
    found = [at for _, at, _, _ in places.others if data[at] not in (_META, _SYSEX, _ESCAPE)]
    if not found:
        return []
    text = (
        f"Dropped {counted(len(found), 'system message')} such as clock or song position, for which"
        " the standard has no place in a track; the time was kept. Nothing needs to be done."
    )
    return [ReadWarning("system-message-in-track", text, track, found[0])]


def _warn_of_open_exclusives(data: bytes, places: EventPlaces, track: int) -> list[ReadWarning]:
    found = []
    for _, at, body, end in places.others:
        if data[at] == _SYSEX:
            content = data[body:end].removesuffix(b"\xf7")
            if content and max(content) > 127:
                found.append((body, content))
    if not found:
        return []
    body, content = found[0]
    offset = body + next(place for place, byte in enumerate(content) if byte > 127)
    text = (
        f"Found a status byte among the data of {counted(len(found), 'exclusive message')}. The"
        " stated length was trusted; if events are missing, export without such messages."
    )
    return [ReadWarning("status-byte-in-exclusive", text, track, offset)]


def _warn_of_broken_running_status(
    data: bytes, places: EventPlaces, columns: _Columns, track: int
) -> list[ReadWarning]:
    ending = [number for number, at, _, _ in places.others if data[at] < 0xF8 or data[at] == _META]
    after = np.array(ending, np.int64) + 1
    after = after[after < len(columns.status)]
    broken = after[~columns.is_explicit[after]]
    if not len(broken):
        return []
    text = (
        f"Found {counted(len(broken), 'message')} without a status byte behind a meta or exclusive"
        " event; the last channel status was taken. Check the notes there."
    )
    offset = int(columns.status_offsets[broken[0]])
    return [ReadWarning("running-status-broken", text, track, offset)]
