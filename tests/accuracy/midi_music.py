"""A piece of music as plain lists, read and written with mido alone.

Nothing here knows the product: the tests edit music with it, so a fault of the product's own
reading cannot hide in it.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass, field, replace
from pathlib import Path

import mido


@dataclass(frozen=True)
class Note:
    """One key press; ticks from the start of the music."""

    onset: int
    release: int
    pitch: int
    velocity: int = 80


@dataclass(frozen=True)
class Part:
    """One track with its own channel; `events` are (tick, message) other than notes."""

    name: str
    notes: tuple[Note, ...]
    events: tuple[tuple[int, mido.Message], ...] = ()


@dataclass(frozen=True)
class Music:
    """Parts under one tempo map and one bar grid.

    `tempos` are (tick, microseconds per quarter), `meters` (tick, numerator, denominator); both
    begin at tick 0. A time signature starts a bar (Standard MIDI Files 1.0).
    """

    ticks_per_quarter: int
    tempos: tuple[tuple[int, float], ...]
    meters: tuple[tuple[int, int, int], ...]
    parts: tuple[Part, ...] = field(default=())

    def part(self, name: str) -> Part:
        """The part of that name."""
        return next(part for part in self.parts if part.name == name)

    def with_part(self, changed: Part) -> Music:
        """The same music with the part of that name put in its place."""
        parts = tuple(changed if part.name == changed.name else part for part in self.parts)
        return replace(self, parts=parts)

    @property
    def end(self) -> int:
        """Tick at which the last note is released."""
        return max((note.release for part in self.parts for note in part.notes), default=0)

    def _bar_ticks(self, numerator: int, denominator: int) -> int:
        return 4 * self.ticks_per_quarter * numerator // denominator

    def _first_bars(self) -> list[int]:
        """Bar, from 1, that each time signature starts; a bar cut short by one still counts."""
        bars = [1]
        for (tick, numerator, denominator), (after, _, _) in zip(
            self.meters, self.meters[1:], strict=False
        ):
            bars.append(bars[-1] + -(-(after - tick) // self._bar_ticks(numerator, denominator)))
        return bars

    def bar_at(self, tick: int) -> int:
        """Bar, from 1, of a tick."""
        index = bisect_right([start for start, _, _ in self.meters], tick) - 1
        start, numerator, denominator = self.meters[index]
        return self._first_bars()[index] + (tick - start) // self._bar_ticks(numerator, denominator)

    def bar_start(self, bar: int) -> int:
        """First tick of a bar counted from 1."""
        first_bars = self._first_bars()
        index = bisect_right(first_bars, bar) - 1
        start, numerator, denominator = self.meters[index]
        return start + (bar - first_bars[index]) * self._bar_ticks(numerator, denominator)

    def _seconds_at_tempos(self) -> list[float]:
        seconds = [0.0]
        for (tick, tempo), (after, _) in zip(self.tempos, self.tempos[1:], strict=False):
            seconds.append(seconds[-1] + (after - tick) * tempo / 1e6 / self.ticks_per_quarter)
        return seconds

    def second_at(self, tick: int) -> float:
        """Second of a tick."""
        index = bisect_right([start for start, _ in self.tempos], tick) - 1
        start, tempo = self.tempos[index]
        past = (tick - start) * tempo / 1e6 / self.ticks_per_quarter
        return self._seconds_at_tempos()[index] + past

    def tick_at(self, second: float) -> int:
        """The nearest tick to a second."""
        seconds = self._seconds_at_tempos()
        index = bisect_right(seconds, second) - 1
        start, tempo = self.tempos[index]
        return round(start + (second - seconds[index]) * 1e6 * self.ticks_per_quarter / tempo)


def read_music(path: Path) -> Music:
    """Read a format 1 file whose first track holds tempo and metre, one part a track."""
    file = mido.MidiFile(path)
    tempos: dict[int, float] = {0: 500_000}
    meters: dict[int, tuple[int, int]] = {0: (4, 4)}
    parts = []
    for track in file.tracks:
        tick = 0
        notes: list[Note] = []
        sounding: dict[int, list[tuple[int, int]]] = {}
        for message in track:
            tick += message.time
            if message.type == "set_tempo":
                tempos[tick] = message.tempo
            elif message.type == "time_signature":
                meters[tick] = (message.numerator, message.denominator)
            elif message.type == "note_on" and message.velocity:
                sounding.setdefault(message.note, []).append((tick, message.velocity))
            elif message.type in {"note_on", "note_off"} and sounding.get(message.note):
                onset, velocity = sounding[message.note].pop(0)
                notes.append(Note(onset, tick, message.note, velocity))
        if notes:
            parts.append(Part(track.name, tuple(sorted(notes, key=lambda n: (n.onset, n.pitch)))))
    return Music(
        ticks_per_quarter=file.ticks_per_beat,
        tempos=tuple(sorted(tempos.items())),
        meters=tuple((tick, *metre) for tick, metre in sorted(meters.items())),
        parts=tuple(parts),
    )


def _conductor(music: Music) -> list[tuple[int, int, mido.MetaMessage]]:
    rows = [
        (tick, 0, mido.MetaMessage("set_tempo", tempo=round(tempo))) for tick, tempo in music.tempos
    ]
    rows += [
        (tick, 0, mido.MetaMessage("time_signature", numerator=numerator, denominator=denominator))
        for tick, numerator, denominator in music.meters
    ]
    return rows


def _part_rows(part: Part, channel: int) -> list[tuple[int, int, mido.Message]]:
    # Releases before events before onsets, so that a repeated key and a new program both hold.
    rows = [(tick, 1, message.copy(channel=channel)) for tick, message in part.events]
    for note in part.notes:
        shared = {"channel": channel, "note": note.pitch}
        rows.append((note.release, 0, mido.Message("note_off", **shared)))
        rows.append((note.onset, 2, mido.Message("note_on", velocity=note.velocity, **shared)))
    return rows


def _track(rows: list[tuple[int, int, mido.Message]], name: str = "") -> mido.MidiTrack:
    track = mido.MidiTrack([mido.MetaMessage("track_name", name=name)] if name else [])
    before = 0
    for tick, _, message in sorted(rows, key=lambda row: row[:2]):
        track.append(message.copy(time=tick - before))
        before = tick
    return track


_CHANNELS = [channel for channel in range(16) if channel != 9]
"""Channel 10 (9 from 0) is for drums in General MIDI."""


def write_music(music: Music, path: Path, smf_format: int = 1) -> Path:
    """Write music as a Standard MIDI File; format 0 keeps the parts apart by channel only."""
    file = mido.MidiFile(type=smf_format, ticks_per_beat=music.ticks_per_quarter)
    rows = [_part_rows(part, _CHANNELS[i]) for i, part in enumerate(music.parts)]
    if smf_format == 0:
        file.tracks = [_track(_conductor(music) + [row for part in rows for row in part])]
    else:
        names = [part.name for part in music.parts]
        file.tracks = [
            _track(_conductor(music)),
            *(_track(part, name) for part, name in zip(rows, names, strict=True)),
        ]
    file.save(path)
    return path


def excerpt(music: Music, first_bar: int, last_bar: int) -> Music:
    """Bars cut out of a piece, both counted from 1 and included, as music of its own.

    Notes that begin before are left out, notes that last longer are cut.
    """
    start, end = music.bar_start(first_bar), music.bar_start(last_bar + 1)

    def cut(part: Part) -> Part:
        notes = tuple(
            replace(note, onset=note.onset - start, release=min(note.release, end) - start)
            for note in part.notes
            if start <= note.onset < end
        )
        events = tuple((tick - start, event) for tick, event in part.events if start <= tick < end)
        return Part(part.name, notes, events)

    tempo = [value for tick, value in music.tempos if tick <= start][-1]
    metre = [row[1:] for row in music.meters if row[0] <= start][-1]
    tempos = [(tick - start, value) for tick, value in music.tempos if start < tick < end]
    meters = [(row[0] - start, *row[1:]) for row in music.meters if start < row[0] < end]
    return Music(
        music.ticks_per_quarter,
        ((0, tempo), *tempos),
        ((0, *metre), *meters),
        tuple(cut(part) for part in music.parts),
    )
