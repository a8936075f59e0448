"""Scores for tests of who plays, built without the reader.

A track is `track("Vln 1", "67 69 71", program=40)`: pitches, one second each unless `each_s` says
otherwise, `+` for chords. Several channels: a mapping from channel to pitches.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from mockcheck.model.curves import Curve
from mockcheck.model.notes import Notes, concatenate_notes
from mockcheck.model.score import ChannelCurves, Score, Track
from mockcheck.model.time import TempoMap, Timeline

TICKS_PER_QUARTER = 480
TICKS_PER_SECOND = 960


def notes(
    pitches: str, *, channel: int = 1, program: int = -1, each_s: float = 1.0, start_s: float = 0.0
) -> Notes:
    groups = [[int(pitch) for pitch in group.split("+")] for group in pitches.split()]
    pitch = np.array([p for group in groups for p in sorted(group)], np.int16)
    moment = np.array([k for k, group in enumerate(groups) for _ in group], np.float64)
    onset_s = start_s + moment * each_s
    release_s = onset_s + 0.9 * each_s
    count = len(pitch)
    return Notes(
        pitch=pitch,
        velocity=np.full(count, 80, np.uint8),
        channel=np.full(count, channel, np.uint8),
        onset_ticks=np.rint(onset_s * TICKS_PER_SECOND).astype(np.int64),
        release_ticks=np.rint(release_s * TICKS_PER_SECOND).astype(np.int64),
        onset_s=onset_s,
        release_s=release_s,
        sound_end_s=release_s.copy(),
        program=np.full(count, program, np.int16),
        hanging=np.zeros(count, np.bool_),
        event_index=np.arange(count, dtype=np.int64),
    )


def timeline() -> Timeline:
    tempo = TempoMap(
        np.zeros(1, np.int64), np.zeros(1), np.array([1 / TICKS_PER_SECOND]), bpm=(120.0,)
    )
    return Timeline(tempo, None)


def track(
    name: str | None = None,
    music: str | Mapping[int, str] | Notes = "",
    *,
    channel: int = 1,
    program: int | Mapping[int, int] = -1,
    instrument_name: str | None = None,
    bends: bool = False,
    each_s: float = 1.0,
    start_s: float = 0.0,
) -> Track:
    if isinstance(music, Notes):
        table = music
    else:
        lines = music if isinstance(music, Mapping) else {channel: music}
        table, _ = concatenate_notes(
            [
                notes(
                    line,
                    channel=number,
                    program=program.get(number, -1) if isinstance(program, Mapping) else program,
                    each_s=each_s,
                    start_s=start_s,
                )
                for number, line in lines.items()
            ]
        )
    bend = Curve(np.array([0, 240]), np.array([0.0, 0.25]), np.array([0.0, 20.0]))
    curves = ChannelCurves(bend_cents=bend) if bends else ChannelCurves()
    return Track(
        index=0,
        name=name,
        name_bytes=None if name is None else name.encode(),
        instrument_name=instrument_name,
        port=None,
        notes=table,
        channels={int(number): curves for number in np.unique(table.channel)},
        timeline=timeline(),
        end_ticks=int(table.release_ticks.max(initial=0)),
    )


def score(*tracks: Track, smf_format: int = 1) -> Score:
    return Score(
        file="test.mid",
        sha256="",
        smf_format=smf_format,
        ticks_per_quarter=TICKS_PER_QUARTER,
        ticks_per_second=None,
        tracks=tuple(replace(one, index=index) for index, one in enumerate(tracks)),
        timeline=timeline(),
        markers=(),
        texts=(),
        key_signatures=(),
        warnings=(),
        event_count=0,
    )
