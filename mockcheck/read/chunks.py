"""Where one track ends, which its stated length does not always tell."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass

from mockcheck.model.score import ReadWarning
from mockcheck.read.container import TRACK_TAG
from mockcheck.read.events import EventPlaces, find_events
from mockcheck.read.raw import counted


@dataclass(frozen=True)
class FoundTrack:
    """The events of one MTrk chunk, where the next chunk begins, and what was wrong.

    `walked` counts the events looked at, which can be more than there are.
    """

    places: EventPlaces
    next_chunk: int
    incomplete: bool
    walked: int
    warnings: tuple[ReadWarning, ...]


def is_chunk_start(data: bytes, at: int, end: int) -> bool:
    """A chunk is four letters, a 32-bit length, and that many bytes.

    An MTrk chunk is believed even where its length passes the end of the file.

    Source: Standard MIDI Files 1.0, Chunks.
    """
    if at + 8 > end:
        return False
    tag = data[at : at + 4]
    if tag == TRACK_TAG:
        return True
    is_name = all(32 <= byte < 127 for byte in tag)
    return is_name and at + 8 + chunk_size(data, at) <= end


def chunk_size(data: bytes, at: int) -> int:
    """The length that a chunk states."""
    return int.from_bytes(data[at + 4 : at + 8], "big")


def find_headers(data: bytes, begin: int, end: int) -> list[int]:
    """Track headers that lead to another one or to the end; such letters in a text do not."""
    headers = []
    header = data.find(TRACK_TAG, begin, end)
    while header >= 0:
        behind = header + 8 + chunk_size(data, header)
        if behind == end or data[behind : behind + 4] == TRACK_TAG:
            headers.append(header)
        header = data.find(TRACK_TAG, header + 1, end)
    return headers


def find_track(
    data: bytes, at: int, end: int, headers: Sequence[int], index: int, most_others: int
) -> FoundTrack:
    """An end-of-track event ends a track; the stated length helps where there is none.

    Parameters
    ----------
    data, end
        The whole file, and the byte behind the MIDI file in it.
    at
        First byte of the MTrk chunk.
    headers
        Track headers of the file that look sound, rising.
    index
        Number of the chunk among the MTrk chunks, from 0.
    most_others
        Meta and exclusive events to read before giving up.

    Source: Standard MIDI Files 1.0, Track Chunks and End of Track.
    """
    begin = at + 8
    stated = begin + chunk_size(data, at)
    stop = min(stated, end)
    walks: list[EventPlaces] = []

    def walk(until: int) -> EventPlaces:
        walks.append(find_events(data, begin, until, most_others))
        return walks[-1]

    inside = headers[bisect_left(headers, begin) :][:1]
    header = inside[0] if inside and inside[0] < stop else None
    places = walk(stop if header is None else header)
    if header is not None and places.cut_at is not None:
        # The letters stand inside an event, unless the bytes before them are spoilt.
        beyond = walk(stop)
        if beyond.is_ended:
            header, places = None, beyond
    if header is None and not places.is_ended:
        header = _find_swallowed_header(data, begin, places)
        if header is None and _is_too_short(data, stated, end, places):
            header = _next_track(data, stated, end)
        if header is not None:
            places = walk(header)
    stop = stop if header is None else header
    faults, next_chunk = _judge_end(data, at, stop, end, places)
    is_cut = places.cut_at is not None or (not places.is_ended and stated > end == stop)
    return FoundTrack(
        places,
        next_chunk,
        places.damage is not None or is_cut,
        sum(len(walked.starts) for walked in walks),
        tuple(ReadWarning(code, text, index, offset) for code, text, offset in faults),
    )


def _find_swallowed_header(data: bytes, begin: int, places: EventPlaces) -> int | None:
    """A track header that was read as an event, since nothing ended the track before it."""
    header = data.find(TRACK_TAG, begin, places.after + len(TRACK_TAG))
    while header >= 0:
        spot = bisect_left(places.starts, header)
        if spot < len(places.starts) and places.starts[spot] == header:
            return header
        header = data.find(TRACK_TAG, header + 1, places.after + len(TRACK_TAG))
    return None


def _is_too_short(data: bytes, stated: int, end: int, places: EventPlaces) -> bool:
    is_sound = not places.is_ended and places.damage is None
    return is_sound and stated < end and not is_chunk_start(data, stated, end)


def _next_track(data: bytes, begin: int, end: int) -> int:
    found = data.find(TRACK_TAG, begin, end)
    return end if found < 0 else found


def _judge_end(
    data: bytes, at: int, stop: int, end: int, places: EventPlaces
) -> tuple[list[tuple[str, str, int]], int]:
    """What to say about the end of a track (code, text, offset), and where to read on."""
    stated = at + 8 + chunk_size(data, at)
    if places.is_ended:
        return _judge_whole(data, at, stated, end, places.after)
    read = f"read up to here ({counted(len(places.starts), 'event')})"
    if stop != min(stated, end):
        next_chunk = stop
    elif stated == end or is_chunk_start(data, stated, end):
        next_chunk = stated
    else:
        next_chunk = _next_track(data, places.after, end)
    if places.damage:
        code, problem, offset = places.damage
        text = f"The track is damaged: {problem} It was {read}. Export the file again."
        return [(code, text, offset)], next_chunk
    warnings = []
    if stop < min(stated, end):
        text = "The length of the track covers the start of the next track; it was ended there."
        warnings.append(("track-length-too-long", text, at + 4))
    if places.cut_at is not None or stated > end == stop:
        text = f"The track is cut off before its end; it was {read}. Export the file again."
        return [*warnings, ("track-cut", text, stop)], next_chunk
    text = "The track has no end-of-track event; the end of its bytes was taken."
    return [*warnings, ("no-end-of-track", text, stop)], next_chunk


def _judge_whole(
    data: bytes, at: int, stated: int, end: int, after: int
) -> tuple[list[tuple[str, str, int]], int]:
    if after == stated:
        return [], stated
    if after > stated:
        text = "The track goes on behind its stated length; it was read up to its end of track."
        return [("track-length-too-short", text, at + 4)], after
    is_next = data[after : after + 4] == TRACK_TAG
    if not is_next and (stated == end or is_chunk_start(data, stated, end)):
        text = f"Left out {counted(stated - after, 'byte')} behind the end of the track."
        return [("bytes-after-end-of-track", text, after)], stated
    text = "The stated length of the track is too large; its end-of-track event was trusted."
    return [("track-length-too-long", text, at + 4)], _next_track(data, after, end)
