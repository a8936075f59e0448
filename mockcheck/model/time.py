"""Where something is: ticks are the truth, seconds and bar and beat follow from two maps."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from mockcheck.model.columns import freeze_columns

_QUANTISED_PARTS = 48
"""Ticks on this many parts of a beat were put there on purpose."""
_PLAYED_BY_HAND_S = ((1, 0.03), (2, 0.025), (12, 0.02))
"""Parts of a beat, and how far off them a hand may be, s; players of one ensemble are 30 to 50 ms
apart (Rasch, Synchronization in performed ensemble music, 1979)."""


@dataclass(frozen=True)
class Location:
    """One place in the music; bar and beat count from 1 and are None where there are no bars."""

    bar: int | None
    beat: float | None
    tick: int
    time_s: float
    timecode: str | None = None

    def to_dict(self) -> dict[str, object]:
        """As in review.json: seconds to the microsecond."""
        return {
            "bar": self.bar,
            "beat": self.beat,
            "tick": self.tick,
            "time_s": round(self.time_s, 6),
            "timecode": self.timecode,
        }


@dataclass(frozen=True)
class TempoMap:
    """Tick and second of every tempo change; between them time runs straight.

    Parameters
    ----------
    ticks
        Tick of each change, rising, the first is 0, shape (n,).
    time_s
        Second of each change, shape (n,).
    seconds_per_tick
        Length of a tick from that change on, s, shape (n,).
    bpm
        Quarter notes per minute from that change on; empty when the file counts frames.
    assumed
        True when the file names no tempo and 120 was taken.

    Source: Standard MIDI Files 1.0, Set Tempo.
    """

    ticks: NDArray[np.int64]
    time_s: NDArray[np.float64]
    seconds_per_tick: NDArray[np.float64]
    bpm: tuple[float, ...]
    assumed: bool = False

    def __post_init__(self) -> None:
        freeze_columns(self)

    def seconds_at(self, ticks: NDArray[np.int64]) -> NDArray[np.float64]:
        """Seconds from the start of the file, shape as `ticks`."""
        piece = np.maximum(np.searchsorted(self.ticks, ticks, side="right") - 1, 0)
        return self.time_s[piece] + (ticks - self.ticks[piece]) * self.seconds_per_tick[piece]

    def second_at(self, tick: int) -> float:
        """Seconds from the start of the file at one tick."""
        return float(self.seconds_at(np.array([tick], dtype=np.int64))[0])

    def ticks_at(self, time_s: NDArray[np.float64]) -> NDArray[np.int64]:
        """The nearest tick, shape as `time_s`."""
        piece = np.maximum(np.searchsorted(self.time_s, time_s, side="right") - 1, 0)
        past = (time_s - self.time_s[piece]) / self.seconds_per_tick[piece]
        return np.rint(self.ticks[piece] + past).astype(np.int64)

    def bpm_at(self, tick: int) -> float | None:
        """Quarter notes per minute in force at a tick; None when the file counts frames."""
        if not self.bpm:
            return None
        return self.bpm[max(int(np.searchsorted(self.ticks, tick, side="right")) - 1, 0)]


@dataclass(frozen=True)
class MeterMap:
    """Where the bars are; a time signature always starts one.

    Parameters
    ----------
    ticks
        Tick of each time signature, rising, the first is 0, shape (n,).
    numerators, denominators
        As printed, shape (n,).
    ticks_per_quarter
        Ticks in a quarter note, positive.

    A pick-up written as a short bar with its own signature is bar 1, as sequencers count.
    Source: Standard MIDI Files 1.0, Time Signature.
    """

    ticks: NDArray[np.int64]
    numerators: NDArray[np.int64]
    denominators: NDArray[np.int64]
    ticks_per_quarter: int

    def __post_init__(self) -> None:
        freeze_columns(self)

    @property
    def bar_ticks(self) -> NDArray[np.float64]:
        """Length of a full bar under each signature, ticks (a fraction when a beat is odd)."""
        return self.numerators * self.beat_ticks

    @property
    def beat_ticks(self) -> NDArray[np.float64]:
        """Length of a beat (the denominator's note value) under each signature, ticks."""
        return 4.0 * self.ticks_per_quarter / self.denominators

    @cached_property
    def first_bar_index(self) -> NDArray[np.int64]:
        """Bar, from 0, that each signature starts."""
        whole = np.ceil(np.diff(self.ticks) / self.bar_ticks[:-1] - 1e-9).astype(np.int64)
        return np.concatenate([[0], np.cumsum(whole)])

    def bar_index(self, ticks: NDArray[np.int64]) -> NDArray[np.int64]:
        """Bar, from 0, of each tick."""
        piece = np.maximum(np.searchsorted(self.ticks, ticks, side="right") - 1, 0)
        past = np.floor((ticks - self.ticks[piece]) / self.bar_ticks[piece] + 1e-9)
        return self.first_bar_index[piece] + past.astype(np.int64)

    def bar_start(self, bar_index: NDArray[np.int64]) -> NDArray[np.int64]:
        """First tick of each bar (counted from 0)."""
        first = self.first_bar_index
        piece = np.maximum(np.searchsorted(first, bar_index, side="right") - 1, 0)
        start = self.ticks[piece] + (bar_index - first[piece]) * self.bar_ticks[piece]
        return np.rint(start).astype(np.int64)

    def beat_in_bar(self, tick: int) -> tuple[int, float]:
        """Bar and beat, both from 1, of one tick; a beat is the signature's note value."""
        bar_index = self.bar_index(np.array([tick], dtype=np.int64))
        piece = max(int(np.searchsorted(self.ticks, tick, side="right")) - 1, 0)
        past = tick - int(self.bar_start(bar_index)[0])
        return int(bar_index[0]) + 1, 1.0 + past / float(self.beat_ticks[piece])


@dataclass(frozen=True)
class Timeline:
    """The tempo and the bars that hold for one track (format 2 has one for each track)."""

    tempo: TempoMap
    meter: MeterMap | None

    def locate(self, tick: int) -> Location:
        """Bar, beat and second of a tick."""
        return self._located(tick, tick)

    def locate_onset(self, tick: int) -> Location:
        """Where a note begins; bar and beat name the place that a player would.

        A note played a few hundredths early belongs to the bar it was meant for.
        """
        return self._located(tick, tick if self.meter is None else self._meant(tick, self.meter))

    def _located(self, tick: int, meant: int) -> Location:
        time_s = self.tempo.second_at(tick)
        if self.meter is None:
            return Location(None, None, tick, time_s)
        bar, beat = self.meter.beat_in_bar(meant)
        return Location(bar, round(beat, 4), tick, time_s)

    def _meant(self, tick: int, meter: MeterMap) -> int:
        """The tick on the page that a tick played by hand stands for."""
        piece = max(int(np.searchsorted(meter.ticks, tick, side="right")) - 1, 0)
        beat_ticks = float(meter.beat_ticks[piece])
        beats = (tick - int(meter.ticks[piece])) / beat_ticks
        if (beats * _QUANTISED_PARTS).is_integer():
            return tick
        for parts, tolerance_s in _PLAYED_BY_HAND_S:
            nearest = round(int(meter.ticks[piece]) + round(beats * parts) / parts * beat_ticks)
            off_s = abs(self.tempo.second_at(nearest) - self.tempo.second_at(tick))
            if off_s <= tolerance_s:
                return nearest
        return tick
