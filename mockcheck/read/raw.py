"""What stands in the bytes of a file, decoded but not yet music: messages, meta events, faults."""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from mockcheck.errors import UnreadableInput
from mockcheck.model.columns import freeze_columns
from mockcheck.model.score import ReadWarning

NOTE_OFF, NOTE_ON, KEY_PRESSURE, CONTROLLER, PROGRAM, CHANNEL_PRESSURE, BEND = range(8, 15)
"""Upper half of the status byte. Source: MIDI 1.0 Detailed Specification 4.2, Table I."""


@dataclass(frozen=True)
class Messages:
    """Channel messages of one track in the order of the file, shape (n,) each.

    Parameters
    ----------
    ticks
        From the start of the track, never falling.
    kind
        Upper half of the status byte, 8..14.
    channel
        1..16.
    port
        Output in force, 0 where none is named.
    data1, data2
        0..127; `data2` is 0 for messages with one data byte.
    event_index
        Place among all events of the track.
    byte_offset
        Place of the status byte in the file, or of the first data byte under running status.
    """

    ticks: NDArray[np.int64]
    kind: NDArray[np.uint8]
    channel: NDArray[np.uint8]
    port: NDArray[np.uint8]
    data1: NDArray[np.uint8]
    data2: NDArray[np.uint8]
    event_index: NDArray[np.int64]
    byte_offset: NDArray[np.int64]

    def __post_init__(self) -> None:
        freeze_columns(self)

    def __len__(self) -> int:
        return len(self.ticks)

    def select(self, rows: NDArray[np.bool_] | NDArray[np.int64] | NDArray[np.intp]) -> Messages:
        """The rows of a mask or an index array, as a new table."""
        return Messages(*(getattr(self, field.name)[rows] for field in fields(Messages)))

    def rows(self, kind: int) -> NDArray[np.intp]:
        """Rows of one kind of message."""
        return np.flatnonzero(self.kind == kind)

    def controller_rows(self, *numbers: int) -> NDArray[np.intp]:
        """Rows that send one of these controllers (or channel mode messages, 120..127)."""
        is_wanted = np.zeros(128, np.bool_)
        is_wanted[list(numbers)] = True
        return np.flatnonzero((self.kind == CONTROLLER) & is_wanted[self.data1])

    @property
    def place(self) -> NDArray[np.int64]:
        """Port and channel together name an instrument: port * 16 + channel - 1."""
        return self.port.astype(np.int64) * 16 + self.channel - 1

    @property
    def is_note_on(self) -> NDArray[np.bool_]:
        """True where a key goes down; velocity 0 is a note off."""
        is_on: NDArray[np.bool_] = (self.kind == NOTE_ON) & (self.data2 > 0)
        return is_on


def join_messages(tables: list[Messages]) -> Messages:
    """Several tables one after the other, not sorted."""
    return Messages(
        *(np.concatenate([getattr(t, field.name) for t in tables]) for field in fields(Messages))
    )


@dataclass(frozen=True)
class RawMeta:
    """One meta event; `byte_offset` is its FF byte, `data_offset` the first byte it carries."""

    kind: int
    content: bytes
    tick: int
    byte_offset: int
    data_offset: int
    event_index: int


@dataclass(frozen=True)
class RawTrack:
    """One MTrk chunk.

    `event_ticks` and `event_offsets` cover every event, meta and system exclusive ones too;
    an offset there is that of the first byte of the delta time.
    """

    index: int
    messages: Messages
    metas: tuple[RawMeta, ...]
    event_ticks: NDArray[np.int64]
    event_offsets: NDArray[np.uint32]
    incomplete: bool

    @property
    def end_ticks(self) -> int:
        """Tick of the last event, normally the end of track."""
        return int(self.event_ticks[-1]) if len(self.event_ticks) else 0

    @property
    def has_notes(self) -> bool:
        """True when any key goes down."""
        return bool(self.messages.is_note_on.any())

    def metas_of(self, *kinds: int) -> list[RawMeta]:
        """Meta events of these kinds, in order."""
        return [meta for meta in self.metas if meta.kind in kinds]


@dataclass(frozen=True)
class RawFile:
    """A whole file: header, tracks and what was wrong.

    Exactly one of `ticks_per_quarter` and `ticks_per_second` is set.
    """

    smf_format: int
    ticks_per_quarter: int | None
    ticks_per_second: float | None
    tracks: tuple[RawTrack, ...]
    warnings: tuple[ReadWarning, ...]


def unreadable(file: str, byte_offset: int | None, problem: str, advice: str) -> UnreadableInput:
    """The error for a file that holds no music we can read: where, what is wrong, what to do."""
    place = file if byte_offset is None else f"{file}, byte {byte_offset:,}"
    return UnreadableInput(f"{place}: {problem} {advice}")


def counted(count: int, singular: str, plural: str | None = None) -> str:
    """'1 note', '1,204 notes'."""
    word = singular if count == 1 else plural or f"{singular}s"
    return f"{count:,} {word}"
