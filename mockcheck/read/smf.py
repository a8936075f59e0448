"""From the bytes of a file to raw tracks: header, chunks, and every fault on the way."""

from __future__ import annotations

from dataclasses import dataclass, field

from mockcheck.model.score import ReadWarning
from mockcheck.read.chunks import chunk_size, find_headers, find_track, is_chunk_start
from mockcheck.read.container import HEADER_TAG, TRACK_TAG, find_midi
from mockcheck.read.events import read_track
from mockcheck.read.raw import RawFile, RawTrack, counted, unreadable

MAX_EVENTS = 20_000_000
"""Forty times a dense ten-minute mock-up. With delta times of at most 2**28 no tick can pass
2**53, so ticks stay exact in 64-bit integers and floats alike."""

MAX_META_EVENTS = 1_000_000
"""Meta and exclusive events become Python objects; this bounds their memory to some 300 MB."""

MAX_TRACKS = 4_096
"""A few times any template; each track has fixed costs, and an empty one needs only 8 bytes."""

_FRAMES_PER_SECOND = {24: 24.0, 25: 25.0, 29: 30000 / 1001, 30: 30.0}
"""-29 stands for 30 drop frame, 29.97 a second. Source: Standard MIDI Files 1.0, Header Chunks."""


@dataclass(frozen=True)
class _Header:
    smf_format: int
    track_count: int
    ticks_per_quarter: int | None
    ticks_per_second: float | None
    first_chunk: int


@dataclass
class _Reading:
    data: bytes
    end: int
    file: str
    warnings: list[ReadWarning]
    headers: list[int]
    tracks: list[RawTrack] = field(default_factory=list)
    events: int = 0
    others: int = 0

    def warn(self, code: str, text: str, byte_offset: int) -> None:
        self.warnings.append(ReadWarning(code, text, None, byte_offset))


def read_smf(data: bytes, file: str) -> RawFile:
    """A Standard MIDI File is a header chunk and track chunks; other chunks are stepped over.

    Parameters
    ----------
    data
        The whole file.
    file
        Its name, for messages.

    Raises UnreadableInput when there is no header, no way to tell time, or no track that can be
    read. Anything else wrong with the file becomes a warning.

    Source: Standard MIDI Files 1.0.
    """
    begin, end, warnings = find_midi(data, file)
    reading = _Reading(data, end, file, warnings, find_headers(data, begin, end))
    header = _read_header(reading, begin)
    _read_chunks(reading, header.first_chunk)
    if not any(track.event_ticks.size or not track.incomplete for track in reading.tracks):
        raise unreadable(
            file,
            header.first_chunk,
            "no track that can be read was found; MTrk and at least one event were expected.",
            "Export the file again.",
        )
    if len(reading.tracks) != header.track_count:
        text = (
            f"The header promises {counted(header.track_count, 'track')}, but"
            f" {len(reading.tracks):,} were found and read. Check that no part is missing."
        )
        reading.warn("track-count", text, begin + 10)
    elif header.smf_format == 0 and len(reading.tracks) > 1:
        text = "Format 0 has one track, but there are more; they were read as running together."
        reading.warn("format-0-tracks", text, begin + 8)
    return RawFile(
        header.smf_format,
        header.ticks_per_quarter,
        header.ticks_per_second,
        tuple(reading.tracks),
        tuple(reading.warnings),
    )


def _read_header(reading: _Reading, begin: int) -> _Header:
    data = reading.data
    track = data.find(TRACK_TAG, begin + 8, reading.end)
    if min(reading.end, len(data)) < begin + 14 or 0 <= track < begin + 14:
        raise unreadable(
            reading.file,
            min(reading.end, track if track >= 0 else reading.end),
            "the header is cut short; format, number of tracks and division were expected.",
            "Export the file again.",
        )
    smf_format = int.from_bytes(data[begin + 8 : begin + 10], "big")
    track_count = int.from_bytes(data[begin + 10 : begin + 12], "big")
    if smf_format > 2:
        text = f"The header says format {smf_format}; only 0, 1 and 2 exist. It was read as 1."
        reading.warn("unknown-format", text, begin + 8)
        smf_format = 1
    elif smf_format == 2:
        text = (
            "Format 2 holds independent patterns: each track was timed on its own from zero."
            " Export as format 1 if the tracks should sound together."
        )
        reading.warn("format-2", text, begin + 8)
    first_chunk = begin + 8 + chunk_size(data, begin)
    if first_chunk < begin + 14 or not is_chunk_start(data, first_chunk, reading.end):
        first_chunk = track if track >= 0 else reading.end
        text = "The length of the header is wrong; the first track was searched for."
        reading.warn("header-length", text, begin + 4)
    ticks_per_quarter, ticks_per_second = _read_division(reading, begin + 12)
    return _Header(smf_format, track_count, ticks_per_quarter, ticks_per_second, first_chunk)


def _read_division(reading: _Reading, at: int) -> tuple[int | None, float | None]:
    """Ticks in a quarter note, or in a second; nothing can be timed without one of them."""
    high, low = reading.data[at], reading.data[at + 1]
    if high < 128:
        if high == low == 0:
            raise unreadable(
                reading.file,
                at,
                "the division field of the header is 0, so no tick has a length;"
                " ticks in a quarter note (1 to 32767) were expected.",
                "Export the file again with another resolution.",
            )
        return high << 8 | low, None
    frames = _FRAMES_PER_SECOND.get(256 - high)
    if frames is None or low == 0:
        raise unreadable(
            reading.file,
            at,
            f"the division field of the header names {256 - high} frames a second and {low} ticks"
            " in a frame; 24, 25, 29 (drop) or 30 frames and at least one tick were expected.",
            "Export the file again, counted in quarter notes.",
        )
    return None, frames * low


def _read_chunks(reading: _Reading, at: int) -> None:
    data, end = reading.data, reading.end
    stray: list[tuple[int, int]] = []
    while at < end:
        if data[at : at + 4] == TRACK_TAG and at + 8 <= end:
            if len(reading.tracks) == MAX_TRACKS:
                text = f"There are more than {MAX_TRACKS:,} tracks; the rest was not read."
                reading.warn("too-many-tracks", text, at)
                break
            at = _read_track(reading, at)
        elif data[at : at + 4] == HEADER_TAG:
            text = "A second MIDI file begins here; it was not read. Split the file."
            reading.warn("second-header", text, at)
            break
        elif is_chunk_start(data, at, end):
            at += 8 + chunk_size(data, at)
        else:
            track = data.find(TRACK_TAG, at + 1, end)
            behind = end if track < 0 else track
            stray.append((at, behind - at))
            at = behind
    if stray:
        total = sum(size for _, size in stray)
        text = f"Stepped over {counted(total, 'byte')} that belong to no chunk."
        reading.warn("bytes-outside-chunks", text, stray[0][0])


def _read_track(reading: _Reading, at: int) -> int:
    index = len(reading.tracks)
    found = find_track(
        reading.data,
        at,
        reading.end,
        reading.headers,
        index,
        MAX_META_EVENTS - reading.others,
    )
    reading.events += found.walked
    reading.others += len(found.places.others)
    if reading.events > MAX_EVENTS:
        raise unreadable(
            reading.file,
            at,
            f"the file holds more than {MAX_EVENTS:,} events.",
            "Thin out the controllers, or export it in parts.",
        )
    track, warnings = read_track(reading.data, found.places, index, incomplete=found.incomplete)
    reading.tracks.append(track)
    reading.warnings += [*found.warnings, *warnings]
    return found.next_chunk
