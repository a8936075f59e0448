"""Tempo, bars, keys and the starting timecode of a file."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from mockcheck.model.score import KeySignature, ReadWarning
from mockcheck.model.time import MeterMap, TempoMap, Timeline
from mockcheck.read.raw import RawFile, RawTrack, counted
from mockcheck.units import bpm_from_microseconds

_TEMPO, _START_TIMECODE, _TIME_SIGNATURE, _KEY_SIGNATURE = 0x51, 0x54, 0x58, 0x59

DEFAULT_TEMPO_US = 500_000
"""120 quarter notes a minute until a tempo is named. Source: Standard MIDI Files 1.0, Set Tempo."""

SHORTEST_QUARTER_US = 1_000
"""60,000 quarter notes a minute: nobody means that, so such a tempo is a damaged one. The longest
that three bytes can say, 3.6 a minute, is still music."""

_MOST_SHARPS = 7
_FINEST_BEAT_POWER = 7
"""A beat of a 128th note is the shortest that metres are written in. Common practice, no source."""

_FRAMES_IN_SECOND = (24, 25, 30, 30)
"""By the rate bits of the hour byte. Source: Standard MIDI Files 1.0, SMPTE Offset."""


@dataclass(frozen=True)
class _Change:
    """A tempo (microseconds in a quarter), metre or key, and where it was written."""

    tick: int
    value: tuple[int, ...]
    track: int
    byte_offset: int


def read_timeline(
    raw: RawFile, tracks: Sequence[RawTrack], *, is_alone: bool = False
) -> tuple[Timeline, list[ReadWarning]]:
    """Tempo and bars that hold for these tracks together.

    Parameters
    ----------
    raw
        The file, for its division.
    tracks
        All tracks that run together; one pattern in format 2.
    is_alone
        True for a pattern of format 2: warnings then name its track.

    Source: Standard MIDI Files 1.0, Formats 0, 1, and 2; Set Tempo; Time Signature.
    """
    warnings: list[ReadWarning] = []
    if raw.ticks_per_second is not None:
        return Timeline(_even_time(raw.ticks_per_second), None), warnings
    assert raw.ticks_per_quarter is not None
    tempo_map = _read_tempo(tracks, raw.ticks_per_quarter, warnings, is_alone=is_alone)
    return Timeline(tempo_map, _read_meter(tracks, raw.ticks_per_quarter, warnings)), warnings


def _even_time(ticks_per_second: float) -> TempoMap:
    return TempoMap(np.array([0]), np.array([0.0]), np.array([1.0 / ticks_per_second]), ())


def _read_tempo(
    tracks: Sequence[RawTrack],
    ticks_per_quarter: int,
    warnings: list[ReadWarning],
    *,
    is_alone: bool,
) -> TempoMap:
    changes: list[_Change] = []
    for track in tracks:
        read = _changes_of(track, _TEMPO, _tempo_value, "tempo", warnings)
        changes += read
        if read and track is not tracks[0]:
            text = (
                f"Found {counted(len(read), 'tempo change')} in a track behind the first,"
                " and took the tempo for the whole file. Check the speed."
            )
            code = "tempo-not-in-first-track"
            warnings.append(ReadWarning(code, text, track.index, read[0].byte_offset))
    if not changes:
        text = (
            "The file names no tempo, so 120 quarter notes a minute were assumed. Every speed"
            " limit hangs on it: give the true tempo in the brief, or export it with the file."
        )
        warnings.append(
            ReadWarning("no-tempo", text, tracks[0].index if is_alone and tracks else None)
        )
    in_force = _first_track_wins(changes, "tempos", warnings)
    if not in_force or in_force[0].tick > 0:
        in_force.insert(0, _Change(0, (DEFAULT_TEMPO_US,), 0, 0))
    # Whole numbers first, one division at the end: no rounding piles up over many changes.
    elapsed = [0]
    for before, after in pairwise(in_force):
        elapsed.append(elapsed[-1] + (after.tick - before.tick) * before.value[0])
    us_per_quarter = np.array([change.value[0] for change in in_force], np.float64)
    return TempoMap(
        np.array([change.tick for change in in_force], np.int64),
        np.array([total / (1_000_000 * ticks_per_quarter) for total in elapsed], np.float64),
        us_per_quarter / (1_000_000 * ticks_per_quarter),
        tuple(bpm_from_microseconds(us) for us in us_per_quarter.tolist()),
        assumed=not changes,
    )


def _read_meter(
    tracks: Sequence[RawTrack], ticks_per_quarter: int, warnings: list[ReadWarning]
) -> MeterMap:
    changes = [
        change
        for track in tracks
        for change in _changes_of(track, _TIME_SIGNATURE, _meter_value, "time signature", warnings)
    ]
    in_force = _first_track_wins(changes, "time signatures", warnings)
    if not in_force or in_force[0].tick > 0:
        in_force.insert(0, _Change(0, (4, 4), 0, 0))
    return MeterMap(
        np.array([change.tick for change in in_force], np.int64),
        np.array([change.value[0] for change in in_force], np.int64),
        np.array([change.value[1] for change in in_force], np.int64),
        ticks_per_quarter,
    )


def read_keys(tracks: Iterable[RawTrack]) -> tuple[list[KeySignature], list[ReadWarning]]:
    """A wrong key is no reason to stop: it stays unknown.

    Source: Standard MIDI Files 1.0, Key Signature.
    """
    warnings: list[ReadWarning] = []
    changes = [
        change
        for track in tracks
        for change in _changes_of(track, _KEY_SIGNATURE, _key_value, "key signature", warnings)
    ]
    # Transposing instruments may have keys of their own, so a difference is nothing to warn of.
    in_force = _first_track_wins(changes, "keys", [])
    keys = [KeySignature(c.tick, c.value[0], bool(c.value[1])) for c in in_force]
    return keys, warnings


def read_start_timecode(tracks: Iterable[RawTrack]) -> tuple[str | None, list[ReadWarning]]:
    """Where the picture stands when the music starts, as hours:minutes:seconds:frames.

    Source: Standard MIDI Files 1.0, SMPTE Offset.
    """
    warnings: list[ReadWarning] = []
    for track in tracks:
        for change in _changes_of(track, _START_TIMECODE, _timecode_value, "timecode", warnings):
            return ":".join(f"{number:02}" for number in change.value), warnings
    return None, warnings


def _changes_of(
    track: RawTrack,
    kind: int,
    read: Callable[[bytes], tuple[int, ...] | None],
    what: str,
    warnings: list[ReadWarning],
) -> list[_Change]:
    """Changes of one kind in a track; those that make no sense are left out, with a warning."""
    changes, senseless = [], []
    for meta in track.metas_of(kind):
        value = read(meta.content)
        if value is None:
            senseless.append(meta)
        else:
            changes.append(_Change(meta.tick, value, track.index, meta.byte_offset))
    if senseless:
        text = (
            f"Left out {counted(len(senseless), what)} without sense; what held before goes"
            " on. Check the place in the sequencer."
        )
        code = f"senseless-{what.replace(' ', '-')}"
        warnings.append(ReadWarning(code, text, track.index, senseless[0].data_offset))
    return changes


def _tempo_value(content: bytes) -> tuple[int] | None:
    us_per_quarter = int.from_bytes(content[:3], "big")
    is_sound = len(content) >= 3 and us_per_quarter >= SHORTEST_QUARTER_US
    return (us_per_quarter,) if is_sound else None


def _meter_value(content: bytes) -> tuple[int, int] | None:
    # Clocks in a click and 32nds in a quarter, which follow, say nothing about bars.
    if len(content) < 2 or content[0] == 0 or content[1] > _FINEST_BEAT_POWER:
        return None
    return content[0], 2 ** content[1]


def _key_value(content: bytes) -> tuple[int, int] | None:
    if len(content) < 2:
        return None
    sharps = content[0] - 256 if content[0] > 127 else content[0]
    return (sharps, content[1]) if abs(sharps) <= _MOST_SHARPS and content[1] <= 1 else None


def _timecode_value(content: bytes) -> tuple[int, int, int, int] | None:
    if len(content) < 4:
        return None
    rate, hour = content[0] >> 5 & 3, content[0] & 31
    minute, second, frame = content[1], content[2], content[3]
    is_time = hour < 24 and minute < 60 and second < 60 and frame < _FRAMES_IN_SECOND[rate]
    return (hour, minute, second, frame) if is_time else None


def _first_track_wins(
    changes: list[_Change], what: str, warnings: list[ReadWarning]
) -> list[_Change]:
    """One change a tick, in order: the first track's counts, the last one of that track."""
    in_force: list[_Change] = []
    overruled: list[_Change] = []
    for change in sorted(changes, key=lambda change: (change.tick, change.track)):
        if not in_force or in_force[-1].tick < change.tick:
            in_force.append(change)
            continue
        kept = in_force[-1]
        loser = change
        if kept.track == change.track:
            loser, in_force[-1] = kept, change
        if kept.value != change.value:
            overruled.append(loser)
    if overruled:
        text = (
            f"Found different {what} at one tick ({counted(len(overruled), 'place')}); the first"
            " track's was taken, and its last one there. Check the place in the sequencer."
        )
        code = f"different-{what.replace(' ', '-')}"
        first = overruled[0]
        warnings.append(ReadWarning(code, text, first.track, first.byte_offset))
    return in_force
