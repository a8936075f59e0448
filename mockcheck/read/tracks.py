"""From raw events to a Score: notes, curves, bars, texts, and what was odd about them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.model.notes import Notes
from mockcheck.model.score import ChannelCurves, MpeZone, ReadWarning, Score, Text, Track
from mockcheck.model.time import Timeline
from mockcheck.read.controllers import read_curves
from mockcheck.read.handover import Handover, hand_over
from mockcheck.read.oddities import find_long_gap, find_oddities
from mockcheck.read.pairing import Governors, pair_notes
from mockcheck.read.parameters import Parameters, read_parameters
from mockcheck.read.pedals import find_sound_ends
from mockcheck.read.raw import Messages, RawFile, RawTrack, counted
from mockcheck.read.resets import write_out_resets
from mockcheck.read.text import TRACK_NAME, decode_text, first_text
from mockcheck.read.timeline import read_keys, read_start_timecode, read_timeline

_TEXT, _COPYRIGHT, _INSTRUMENT_NAME, _LYRIC, _MARKER, _CUE = 0x01, 0x02, 0x04, 0x05, 0x06, 0x07
_PROGRAM_NAME, _DEVICE_NAME, _PORT = 0x08, 0x09, 0x21
_TEXT_KINDS = {
    _TEXT: "text",
    _COPYRIGHT: "copyright",
    _LYRIC: "lyric",
    _MARKER: "marker",
    _CUE: "cue",
}
"""Source: Standard MIDI Files 1.0, Meta-Events."""

_PATTERNS = 2
"""The format whose tracks are independent of each other."""


def build_score(raw: RawFile, file: str, sha256: str) -> Score:
    """Notes and curves of every track, on the time line of the file.

    Tracks of formats 0 and 1 run together; each track of format 2 has its own time from zero.

    Source: Standard MIDI Files 1.0, Formats 0, 1, and 2.
    """
    warnings = list(raw.warnings)
    timelines = _read_timelines(raw, warnings)
    handovers = _hand_over(raw, warnings)
    tracks = []
    for raw_track, handover, timeline in zip(raw.tracks, handovers, timelines, strict=True):
        track, found = _build_track(raw_track, handover, timeline)
        tracks.append(track)
        warnings += found
    keys, found = read_keys(raw.tracks)
    warnings += found
    start_timecode, found = read_start_timecode(raw.tracks)
    warnings += found
    texts = _read_texts(raw, timelines)
    return Score(
        file=file,
        sha256=sha256,
        smf_format=raw.smf_format,
        ticks_per_quarter=raw.ticks_per_quarter,
        ticks_per_second=raw.ticks_per_second,
        tracks=tuple(tracks),
        timeline=timelines[0],
        markers=tuple(text for text in texts if text.kind == "marker"),
        texts=tuple(text for text in texts if text.kind != "marker"),
        key_signatures=tuple(keys),
        warnings=tuple(sorted(warnings, key=_file_order)),
        event_count=sum(len(track.event_ticks) for track in raw.tracks),
        start_timecode=start_timecode,
    )


def _file_order(warning: ReadWarning) -> tuple[int, int]:
    """Warnings about the whole file first, then track by track, in the order of bytes."""
    track = -1 if warning.track is None else warning.track
    return track, -1 if warning.byte_offset is None else warning.byte_offset


def _read_timelines(raw: RawFile, warnings: list[ReadWarning]) -> list[Timeline]:
    if raw.smf_format != _PATTERNS:
        timeline, found = read_timeline(raw, raw.tracks)
        warnings += found
        return [timeline] * len(raw.tracks)
    timelines = []
    for track in raw.tracks:
        timeline, found = read_timeline(raw, [track], is_alone=True)
        timelines.append(timeline)
        warnings += found
    return timelines


def _hand_over(raw: RawFile, warnings: list[ReadWarning]) -> list[Handover]:
    if raw.smf_format == _PATTERNS:
        return [Handover(track.messages, ()) for track in raw.tracks]
    handovers, found = hand_over(raw.tracks)
    warnings += found
    return handovers


@dataclass(frozen=True)
class _NoteTable:
    """Notes in order, the place in the file of each, and those of stray note offs."""

    notes: Notes
    offsets: NDArray[np.int64]
    stray_offsets: NDArray[np.int64]


def _build_track(
    raw: RawTrack, handover: Handover, timeline: Timeline
) -> tuple[Track, list[ReadWarning]]:
    messages = write_out_resets(handover.messages)
    parameters = read_parameters(messages)
    zone = _zone_in_use(messages, parameters)
    curves = read_curves(messages, timeline.tempo.seconds_at(messages.ticks), parameters)
    table = _read_notes(messages, raw.end_ticks, timeline, curves, zone)
    name, name_bytes = first_text(raw, TRACK_NAME)
    track = Track(
        index=raw.index,
        name=name,
        name_bytes=name_bytes,
        instrument_name=first_text(raw, _INSTRUMENT_NAME)[0],
        port=_first_port(raw),
        notes=table.notes,
        channels=curves,
        timeline=timeline,
        end_ticks=raw.end_ticks,
        incomplete=raw.incomplete,
        mpe=zone,
        device_name=first_text(raw, _DEVICE_NAME)[0],
        program_name=first_text(raw, _PROGRAM_NAME)[0],
        controller_source=min(handover.sources, default=None),
    )
    warnings = [
        *find_long_gap(raw, timeline.tempo),
        *find_oddities(track, table.offsets, table.stray_offsets),
        *_warn_of_ports(raw),
        *_warn_of_zones(raw, parameters),
    ]
    return track, warnings


def _read_notes(
    messages: Messages,
    end_ticks: int,
    timeline: Timeline,
    curves: dict[int, ChannelCurves],
    zone: MpeZone | None,
) -> _NoteTable:
    governors = _governors(messages, zone)
    pairs = pair_notes(messages, governors)
    begin, end = pairs.begin_rows, pairs.end_rows
    onset = messages.ticks[begin]
    hanging = end < 0
    release = np.where(hanging, max(end_ticks, 0), np.append(messages.ticks, 0)[end])
    sound_end = find_sound_ends(messages, pairs, release, end_ticks, governors)
    order = np.lexsort((begin, messages.data1[begin], onset))
    begin, onset, release = begin[order], onset[order], release[order]
    seconds = timeline.tempo.seconds_at
    notes = Notes(
        pitch=messages.data1[begin].astype(np.int16),
        velocity=messages.data2[begin],
        channel=messages.channel[begin],
        onset_ticks=onset,
        release_ticks=release,
        onset_s=seconds(onset),
        release_s=seconds(release),
        sound_end_s=seconds(sound_end[order]),
        program=_programs(messages.channel[begin], onset, curves, zone),
        hanging=hanging[order],
        event_index=messages.event_index[begin],
    )
    return _NoteTable(notes, messages.byte_offset[begin], messages.byte_offset[pairs.stray_rows])


def _programs(
    channel: NDArray[np.uint8],
    onset: NDArray[np.int64],
    curves: dict[int, ChannelCurves],
    zone: MpeZone | None,
) -> NDArray[np.int16]:
    """Program in force at each onset; one sent at the same tick counts, as it is meant to."""
    programs = np.full(len(channel), -1, np.int16)
    for number in np.unique(channel).tolist():
        program = curves[number].program
        if zone is not None and number in zone.member_channels and not len(program):
            program = curves.get(zone.manager_channel, ChannelCurves()).program
        if len(program):
            rows = channel == number
            programs[rows] = program.value_at_ticks(onset[rows])
    return programs


def _zone_in_use(messages: Messages, parameters: Parameters) -> MpeZone | None:
    """The zone that carries most notes; the lower one where they are even."""
    struck = messages.channel[messages.is_note_on]
    zones = [parameters.zones[manager] for manager in sorted(parameters.zones)]
    return max(
        zones, key=lambda zone: int(np.isin(struck, zone.member_channels).sum()), default=None
    )


def _governors(messages: Messages, zone: MpeZone | None) -> Governors:
    """In an MPE zone the manager's pedals and mode messages hold for all members.

    Source: MIDI Polyphonic Expression 1.0, 2.3.
    """
    if zone is None:
        return {}
    ports = np.unique(messages.port).astype(np.int64).tolist()
    return {
        port * 16 + member - 1: (port * 16 + member - 1, port * 16 + zone.manager_channel - 1)
        for port in ports
        for member in zone.member_channels
    }


def _first_port(raw: RawTrack) -> int | None:
    """The output in force when the track first sends something, None when none is named."""
    ports = [meta.content[0] for meta in raw.metas_of(_PORT) if meta.content]
    if ports and len(raw.messages):
        return int(raw.messages.port[0])
    return ports[-1] if ports else None


def _warn_of_ports(raw: RawTrack) -> list[ReadWarning]:
    ports = np.unique(raw.messages.port).tolist()
    if len(ports) < 2:
        return []
    second = int(np.argmax(raw.messages.port != raw.messages.port[0]))
    text = (
        f"The track sends to {counted(len(ports), 'port')}. Notes were paired port by port, but"
        " channels of the same number share their curves: export one track for each port."
    )
    offset = int(raw.messages.byte_offset[second])
    return [ReadWarning("several-ports", text, raw.index, offset)]


def _warn_of_zones(raw: RawTrack, parameters: Parameters) -> list[ReadWarning]:
    if len(parameters.zones) < 2:
        return []
    text = (
        "Two MPE zones are set up on one track; only the one with more notes was taken as one"
        " note for each channel. Export one track for each zone."
    )
    return [ReadWarning("two-mpe-zones", text, raw.index)]


def _read_texts(raw: RawFile, timelines: list[Timeline]) -> list[Text]:
    found = []
    for track, timeline in zip(raw.tracks, timelines, strict=True):
        metas = track.metas_of(*_TEXT_KINDS)
        seconds = timeline.tempo.seconds_at(np.array([meta.tick for meta in metas], np.int64))
        for meta, time_s in zip(metas, seconds.tolist(), strict=True):
            text = decode_text(meta.content)
            if text:
                kind = _TEXT_KINDS[meta.kind]
                found.append(Text(kind, meta.tick, time_s, text, track.index))
    return sorted(found, key=lambda text: text.tick)
