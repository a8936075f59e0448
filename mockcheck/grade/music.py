"""The notes of a piece as far as grading reads them: for length, a reference, and likeness."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from mockcheck.model.columns import freeze_columns
from mockcheck.model.played import PlayedPart, PlayedScore
from mockcheck.plan.alignment import places_of

_QUARTERS_PER_S_WITHOUT_BARS = 2.0
"""A file that counts frames has no note values; a quarter at 120 stands for one."""
_EDGE_QUARTERS = 1 / 16
"""What a note reaches over a beat by less is touch, not writing."""
QUARTERS_PER_BAR = 4


@dataclass(frozen=True)
class PartMusic:
    """The notes of one part as columns of shape (n,), in order of onset and pitch.

    Parameters
    ----------
    part, instrument
        As the review names them.
    pitch
        MIDI note numbers.
    onset_quarters, release_quarters
        Quarter notes from the start of the file.
    onset_s
        Seconds from the start of the file.
    bar
        Bar of each onset, from 1; 0 where the file has no bars.
    """

    part: str
    instrument: str
    pitch: NDArray[np.int64]
    onset_quarters: NDArray[np.float64]
    release_quarters: NDArray[np.float64]
    onset_s: NDArray[np.float64]
    bar: NDArray[np.int64]

    def __post_init__(self) -> None:
        freeze_columns(self)


@dataclass(frozen=True)
class PieceMusic:
    """The parts of one piece.

    Parameters
    ----------
    bars
        Bars from the first note to the last release; None where the file has no bars.
    seconds
        From the first note to the last release, s.
    """

    parts: tuple[PartMusic, ...]
    bars: int | None
    seconds: float

    @property
    def note_count(self) -> int:
        """Notes of all parts."""
        return sum(len(part.pitch) for part in self.parts)

    @property
    def played_bars(self) -> float:
        """How much was written: beats in which a part plays, over all parts, in bars of four.

        Rests, empty bars and the tempo change nothing. Not modelled: the same music written in
        notes of twice the length counts twice.
        """
        if not self.note_count:
            return 0.0
        first = min(part.onset_quarters[0] for part in self.parts if len(part.pitch))
        return sum(_beats_played(part, first) for part in self.parts) / QUARTERS_PER_BAR

    def to_json(self) -> str:
        """As JSON text, from which `from_json` makes the same music."""
        parts = [
            {name: _plain(getattr(part, name)) for name in PartMusic.__dataclass_fields__}
            for part in self.parts
        ]
        return json.dumps({"parts": parts, "bars": self.bars, "seconds": self.seconds})

    @classmethod
    def from_json(cls, text: str) -> PieceMusic:
        """The music that `to_json` wrote."""
        document = json.loads(text)
        parts = tuple(
            PartMusic(
                part["part"],
                part["instrument"],
                pitch=np.array(part["pitch"], np.int64),
                onset_quarters=np.array(part["onset_quarters"], np.float64),
                release_quarters=np.array(part["release_quarters"], np.float64),
                onset_s=np.array(part["onset_s"], np.float64),
                bar=np.array(part["bar"], np.int64),
            )
            for part in document["parts"]
        )
        return cls(parts, document["bars"], document["seconds"])


def _plain(value: str | NDArray[Any]) -> str | list[Any]:
    return value if isinstance(value, str) else value.tolist()


def _beats_played(part: PartMusic, first: float) -> int:
    onset = np.floor(part.onset_quarters - first + _EDGE_QUARTERS).astype(np.int64)
    release = np.ceil(part.release_quarters - first - _EDGE_QUARTERS).astype(np.int64)
    if not len(onset):
        return 0
    release = np.maximum(release, onset + 1)
    steps = np.zeros(int(release.max()) + 1, np.int64)
    np.add.at(steps, onset, 1)
    np.add.at(steps, release, -1)
    return int(np.count_nonzero(np.cumsum(steps)))


def music_of(played: PlayedScore) -> PieceMusic:
    """The notes that grading reads, out of what players would do."""
    sounding = [part for part in played.parts if len(part.notes)]
    parts = tuple(sorted((_part_music(part) for part in sounding), key=lambda part: part.part))
    if not parts:
        return PieceMusic((), None, 0.0)
    bars = [_bar_span(part) for part in sounding]
    spans = [span for span in bars if span is not None]
    first_s = min(float(part.notes.onset_s[0]) for part in sounding)
    last_s = max(float(part.notes.release_s.max()) for part in sounding)
    whole = max(last for _, last in spans) - min(first for first, _ in spans) + 1 if spans else None
    return PieceMusic(parts, whole, last_s - first_s)


def _part_music(part: PlayedPart) -> PartMusic:
    notes, meter = part.notes, part.timeline.meter
    scale = _QUARTERS_PER_S_WITHOUT_BARS if meter is None else 1.0
    bar = np.zeros(len(notes), np.int64)
    if meter is not None:
        bar = meter.bar_index(notes.onset_ticks) + 1
    return PartMusic(
        part=part.name,
        instrument=part.instrument.id,
        pitch=notes.pitch.astype(np.int64),
        onset_quarters=places_of(part, notes.onset_ticks) * scale,
        release_quarters=places_of(part, notes.release_ticks) * scale,
        onset_s=notes.onset_s.copy(),
        bar=bar,
    )


def _bar_span(part: PlayedPart) -> tuple[int, int] | None:
    meter = part.timeline.meter
    if meter is None:
        return None
    # A note that stops on a bar line is not in the bar after it.
    last = np.maximum(part.notes.release_ticks - 1, part.notes.onset_ticks)
    bars = meter.bar_index(np.array([part.notes.onset_ticks.min(), last.max()], np.int64))
    return int(bars[0]), int(bars[1])
