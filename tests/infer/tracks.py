"""Tracks built straight from numbers: no file, no reading, only what listening needs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from mockcheck.model.curves import Curve, empty_curve
from mockcheck.model.notes import Notes
from mockcheck.model.played import Role
from mockcheck.model.score import ChannelCurves, Score, Track
from mockcheck.model.time import TempoMap, Timeline

TICKS_PER_S = 1000
"""A tick is a millisecond here."""

Row = tuple[float, float, float]
"""Pitch, onset in seconds, release in seconds."""


def timeline() -> Timeline:
    tempo = TempoMap(np.zeros(1, np.int64), np.zeros(1), np.array([1 / TICKS_PER_S]), ())
    return Timeline(tempo, None)


def ticks(time_s: ArrayLike) -> NDArray[np.int64]:
    return np.rint(np.asarray(time_s, np.float64) * TICKS_PER_S).astype(np.int64)


def notes_from(
    pitch: ArrayLike,
    onset_s: ArrayLike,
    release_s: ArrayLike,
    channel: int | NDArray[np.int64] = 1,
    program: int = -1,
) -> Notes:
    """Notes in time order, times rounded to the millisecond; the order given decides ties."""
    onset, release = ticks(onset_s), ticks(release_s)
    order = np.lexsort((np.arange(len(onset)), np.asarray(pitch), onset))
    count = len(order)
    return Notes(
        pitch=np.asarray(pitch)[order].astype(np.int16),
        velocity=np.full(count, 80, np.uint8),
        channel=np.broadcast_to(channel, count)[order].astype(np.uint8),
        onset_ticks=onset[order],
        release_ticks=release[order],
        onset_s=onset[order] / TICKS_PER_S,
        release_s=release[order] / TICKS_PER_S,
        sound_end_s=release[order] / TICKS_PER_S,
        program=np.full(count, program, np.int16),
        hanging=np.zeros(count, np.bool_),
        event_index=np.arange(count)[order],
    )


def notes_of(*rows: Row, channel: int = 1, program: int = -1) -> Notes:
    table = np.array(rows, np.float64).reshape(-1, 3)
    return notes_from(table[:, 0], table[:, 1], table[:, 2], channel, program)


def line(
    pitches: Sequence[int], gap_s: float, share: float = 0.9, begin_s: float = 1.0
) -> list[Row]:
    """Notes at an even pace, each sounding for a share of the time to the next."""
    return [
        (pitch, begin_s + place * gap_s, begin_s + (place + share) * gap_s)
        for place, pitch in enumerate(pitches)
    ]


def curve(points: Sequence[tuple[float, float]], default: float = 0.0) -> Curve:
    if not points:
        return empty_curve(default)
    time_s = np.array([point[0] for point in points])
    values = np.array([point[1] for point in points], np.float64)
    at = ticks(time_s)
    return Curve(at, at / TICKS_PER_S, values, default)


def bend_channel(bend: Curve, is_range_assumed: bool = False) -> ChannelCurves:
    return ChannelCurves(bend_cents=bend, bend_range_assumed=is_range_assumed)


def track_of(
    notes: Notes, channels: Mapping[int, ChannelCurves] | None = None, index: int = 0
) -> Track:
    return Track(
        index=index,
        name=f"track {index}",
        name_bytes=None,
        instrument_name=None,
        port=None,
        notes=notes,
        channels=channels or {},
        timeline=timeline(),
        end_ticks=int(notes.release_ticks.max(initial=0)),
    )


def role_of(
    index: int = 0,
    instrument: str = "violin",
    part: str = "Violin",
    channels: tuple[int, ...] = (1,),
    articulation: str | None = None,
    is_solo: bool = False,
) -> Role:
    return Role(
        index=index,
        track_index=index,
        channels=channels,
        name=f"track {index}",
        instrument=instrument,
        part=part,
        is_solo=is_solo,
        articulation=articulation,
        confidence=1.0,
        evidence="",
    )


def score_of(*tracks: Track) -> Score:
    return Score(
        file="made.mid",
        sha256="",
        smf_format=1,
        ticks_per_quarter=None,
        ticks_per_second=TICKS_PER_S,
        tracks=tracks,
        timeline=timeline(),
        markers=(),
        texts=(),
        key_signatures=(),
        warnings=(),
        event_count=0,
    )
