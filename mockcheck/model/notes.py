"""Notes as columns, and one note as a record."""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from mockcheck.model.columns import freeze_columns


@dataclass(frozen=True)
class Note:
    """One note, for messages and plots; fields as in `Notes`."""

    pitch: int
    velocity: int
    channel: int
    onset_ticks: int
    release_ticks: int
    onset_s: float
    release_s: float


@dataclass(frozen=True)
class Notes:
    """The notes of one track, sorted by (onset_ticks, pitch), then by place in the file.

    Parameters
    ----------
    pitch
        MIDI pitch 0..127, sounding.
    velocity
        1..127.
    channel
        1..16.
    onset_ticks, release_ticks
        Key down and key up; a note of length 0 is kept.
    onset_s, release_s
        The same in seconds.
    sound_end_s
        When the sound stops: the release, or later under a sustain or sostenuto pedal.
    program
        MIDI program 0..127 in force at the onset, -1 when none was sent.
    hanging
        True where the file holds no key up and the end of the track was taken.
    event_index
        Place of the note-on among the events of its track.
    """

    pitch: NDArray[np.int16]
    velocity: NDArray[np.uint8]
    channel: NDArray[np.uint8]
    onset_ticks: NDArray[np.int64]
    release_ticks: NDArray[np.int64]
    onset_s: NDArray[np.float64]
    release_s: NDArray[np.float64]
    sound_end_s: NDArray[np.float64]
    program: NDArray[np.int16]
    hanging: NDArray[np.bool_]
    event_index: NDArray[np.int64]

    def __post_init__(self) -> None:
        freeze_columns(self)

    def __len__(self) -> int:
        return len(self.pitch)

    @property
    def duration_s(self) -> NDArray[np.float64]:
        """Key down to key up, s."""
        return self.release_s - self.onset_s

    def note(self, index: int) -> Note:
        """One row as a record of plain Python numbers."""
        return Note(
            *(getattr(self, field.name)[index].item() for field in fields(Note))  # order as above
        )

    def select(self, rows: NDArray[np.bool_] | NDArray[np.int64]) -> Notes:
        """The rows of a mask or an index array, as a new table."""
        return Notes(*(getattr(self, field.name)[rows] for field in fields(Notes)))


def concatenate_notes(tables: list[Notes]) -> tuple[Notes, NDArray[np.int64]]:
    """Several tables as one, in order of (onset_ticks, pitch), and the table each row is from."""
    origin = np.repeat(np.arange(len(tables)), [len(table) for table in tables])
    columns = {
        field.name: np.concatenate([getattr(table, field.name) for table in tables])
        for field in fields(Notes)
    }
    order = np.lexsort((columns["event_index"], origin, columns["pitch"], columns["onset_ticks"]))
    joined = Notes(**{name: column[order] for name, column in columns.items()})
    return joined, origin[order].astype(np.int64)
