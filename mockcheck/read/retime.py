"""A file without a tempo, played at the tempo the user gives."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from mockcheck.model.curves import Curve
from mockcheck.model.notes import Notes
from mockcheck.model.score import ChannelCurves, Score, Text, Track
from mockcheck.model.time import TempoMap, Timeline


def retime(score: Score, bpm: float) -> Score:
    """The same score with its one assumed tempo replaced; every second scales alike.

    `bpm` is quarter notes per minute, positive. The result still says that the file itself
    names no tempo.
    """
    factor = score.tempo_map.bpm[0] / bpm

    def scaled(text: Text) -> Text:
        return replace(text, time_s=text.time_s * factor)

    return replace(
        score,
        tracks=tuple(_retime_track(track, factor) for track in score.tracks),
        timeline=_retime_timeline(score.timeline, factor),
        markers=tuple(map(scaled, score.markers)),
        texts=tuple(map(scaled, score.texts)),
    )


def _retime_track(track: Track, factor: float) -> Track:
    return replace(
        track,
        notes=_retime_notes(track.notes, factor),
        channels={
            channel: _retime_channel(curves, factor) for channel, curves in track.channels.items()
        },
        timeline=_retime_timeline(track.timeline, factor),
    )


def _retime_timeline(timeline: Timeline, factor: float) -> Timeline:
    tempo = timeline.tempo
    return replace(
        timeline,
        tempo=TempoMap(
            tempo.ticks,
            tempo.time_s * factor,
            tempo.seconds_per_tick * factor,
            tuple(bpm / factor for bpm in tempo.bpm),
            tempo.assumed,
        ),
    )


def _retime_notes(notes: Notes, factor: float) -> Notes:
    return replace(
        notes,
        onset_s=notes.onset_s * factor,
        release_s=notes.release_s * factor,
        sound_end_s=notes.sound_end_s * factor,
    )


def _retime_channel(curves: ChannelCurves, factor: float) -> ChannelCurves:
    def scaled(curve: Curve) -> Curve:
        return replace(curve, time_s=np.asarray(curve.time_s) * factor)

    return replace(
        curves,
        controllers={number: scaled(curve) for number, curve in curves.controllers.items()},
        bend_cents=scaled(curves.bend_cents),
        program=scaled(curves.program),
        channel_pressure=scaled(curves.channel_pressure),
        key_pressure={pitch: scaled(curve) for pitch, curve in curves.key_pressure.items()},
    )
