"""What the file says: tracks, their notes and curves, the time line, and what was wrong."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from mockcheck.model.curves import Curve, empty_curve
from mockcheck.model.notes import Notes
from mockcheck.model.time import MeterMap, TempoMap, Timeline


@dataclass(frozen=True)
class ReadWarning:
    """Something odd in the file that reading got past.

    `code` is a short kebab-case name, `track` the MTrk chunk from 0, `byte_offset` the place of
    the first byte at fault counted from the start of the file; both None where none applies.
    """

    code: str
    message: str
    track: int | None = None
    byte_offset: int | None = None


@dataclass(frozen=True)
class Text:
    """A marker, cue, lyric or other text and its place."""

    kind: str
    tick: int
    time_s: float
    text: str
    track: int


@dataclass(frozen=True)
class KeySignature:
    """A key as the file writes it: sharps (negative for flats) and mode."""

    tick: int
    sharps: int
    is_minor: bool


@dataclass(frozen=True)
class MpeZone:
    """Channels that carry one note each (MIDI Polyphonic Expression 1.0, section 2)."""

    zone: str
    manager_channel: int
    member_channels: tuple[int, ...]


@dataclass(frozen=True)
class ChannelCurves:
    """Everything but notes that one channel of one track sent.

    `controllers` holds a curve for each controller number 0..127 that occurs, values as sent
    (0..127); `bend_cents` follows the bend range in force at each message; `bend_range_assumed`
    is True when no message set that range. `key_pressure` is keyed by pitch.
    """

    controllers: Mapping[int, Curve] = field(default_factory=dict)
    bend_cents: Curve = field(default_factory=empty_curve)
    bend_range_assumed: bool = True
    program: Curve = field(default_factory=lambda: empty_curve(-1.0))
    channel_pressure: Curve = field(default_factory=empty_curve)
    key_pressure: Mapping[int, Curve] = field(default_factory=dict)

    def controller(self, number: int) -> Curve:
        """The curve of one controller, empty where it was never sent."""
        return self.controllers.get(number, empty_curve())

    def controller_14_bit(self, number: int) -> Curve:
        """Coarse * 128 + fine of a controller 0..31; a new coarse value resets the fine part.

        Source: MIDI 1.0 Detailed Specification 4.2, Control Change.
        """
        coarse, fine = self.controller(number), self.controller(number + 32)
        ticks = np.concatenate([coarse.ticks, fine.ticks])
        is_fine = np.repeat([False, True], [len(coarse), len(fine)])
        order = np.lexsort((is_fine, ticks))
        sent = np.concatenate([coarse.values, fine.values])[order]
        values = np.empty(len(order))
        high = low = 0.0
        for row, value in enumerate(sent):
            if is_fine[order[row]]:
                low = value
            else:
                high, low = value, 0.0
            values[row] = high * 128 + low
        time_s = np.concatenate([coarse.time_s, fine.time_s])[order]
        return Curve(ticks[order], time_s, values)


@dataclass(frozen=True)
class Track:
    """One MTrk chunk.

    `channels` is keyed by channel 1..16 and holds only channels with events. `incomplete` is True
    when the chunk was damaged and only its start could be read. `controller_source` names the
    noteless track whose controllers were given to this one, if any.
    """

    index: int
    name: str | None
    name_bytes: bytes | None
    instrument_name: str | None
    port: int | None
    notes: Notes
    channels: Mapping[int, ChannelCurves]
    timeline: Timeline
    end_ticks: int
    incomplete: bool = False
    mpe: MpeZone | None = None
    device_name: str | None = None
    program_name: str | None = None
    controller_source: int | None = None

    def curves(self, channel: int) -> ChannelCurves:
        """What one channel sent; empty where it sent nothing."""
        return self.channels.get(channel, ChannelCurves())

    def sounding_cents(self, channel: int, time_s: NDArray[np.float64]) -> NDArray[np.float64]:
        """Bend of a note on a channel at each second, cents; MPE adds the manager's bend."""
        cents = self.curves(channel).bend_cents.value_at(time_s)
        if self.mpe is not None and channel in self.mpe.member_channels:
            cents = cents + self.curves(self.mpe.manager_channel).bend_cents.value_at(time_s)
        return cents


@dataclass(frozen=True)
class Score:
    """One file, read.

    Exactly one of `ticks_per_quarter` and `ticks_per_second` is set. In format 2 every track has
    its own time line; `timeline` is then the first track's.
    """

    file: str
    sha256: str
    smf_format: int
    ticks_per_quarter: int | None
    ticks_per_second: float | None
    tracks: tuple[Track, ...]
    timeline: Timeline
    markers: tuple[Text, ...]
    texts: tuple[Text, ...]
    key_signatures: tuple[KeySignature, ...]
    warnings: tuple[ReadWarning, ...]
    event_count: int
    start_timecode: str | None = None

    @property
    def tempo_map(self) -> TempoMap:
        """Tempo of the file (format 2: of its first track)."""
        return self.timeline.tempo

    @property
    def meter_map(self) -> MeterMap | None:
        """Bars of the file; None when it counts frames."""
        return self.timeline.meter

    @property
    def duration_s(self) -> float:
        """Second at which the last note is released."""
        ends = [float(track.notes.release_s.max()) for track in self.tracks if len(track.notes)]
        return max(ends, default=0.0)

    @property
    def bar_count(self) -> int | None:
        """Bars up to the last sounding note; None when the file counts frames."""
        if self.meter_map is None:
            return None
        last = max(
            (int(t.notes.release_ticks.max()) for t in self.tracks if len(t.notes)), default=0
        )
        return int(self.meter_map.bar_index(np.array([max(last - 1, 0)]))[0]) + 1
