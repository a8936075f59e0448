"""How long the notes of a line sound, and how each leads on to the next."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.overlaps import NoteEnds, find_note_ends
from mockcheck.model.columns import freeze_columns
from mockcheck.model.notes import Notes
from mockcheck.params import Params, quantity


class NoteLengthParams(Params):
    """What counts as touching the next note."""

    touching_share: float = quantity(
        0.97,
        unit="share of the time to the next onset",
        low=0.9,
        high=1,
        meaning="notes that sound for more touch the next one",
        source="from memory",
    )
    touching_gap_s: float = quantity(
        0.03, unit="s", low=0, high=0.1, meaning="and leave no longer gap"
    )
    accent_window: float = quantity(
        16,
        unit="onsets on either side",
        low=2,
        high=64,
        meaning="an accent is louder than the middle of these",
    )


LENGTHS = NoteLengthParams()
_CLOCK_S = 1e-6


@dataclass(frozen=True)
class NoteLengths:
    """The onsets of one line; every array has shape (m,).

    Parameters
    ----------
    gap_s
        Time to the next onset, s; infinite for the last.
    sounds_s
        Time from the onset to where the note leads on or stops, s.
    overlaps
        The note is held into the next, which has another pitch and takes over.
    touches
        It stops where the next begins, or so near that nobody hears a gap.
    repeats
        The next onset has the same pitches.
    lowest, size
        Lowest pitch and number of notes.
    accent
        Velocity above the middle of those around it, steps of 127.
    """

    gap_s: NDArray[np.float64]
    sounds_s: NDArray[np.float64]
    overlaps: NDArray[np.bool_]
    touches: NDArray[np.bool_]
    repeats: NDArray[np.bool_]
    lowest: NDArray[np.int64]
    size: NDArray[np.int64]
    accent: NDArray[np.float64]

    def __post_init__(self) -> None:
        freeze_columns(self)

    def __len__(self) -> int:
        return len(self.gap_s)

    @property
    def share(self) -> NDArray[np.float64]:
        """Sounding time over the time to the next onset; 0 for the last onset."""
        return self.sounds_s / np.maximum(self.gap_s, _CLOCK_S)


def measure_lengths(notes: Notes) -> tuple[NoteLengths, NDArray[np.int64]]:
    """A player's note lasts until the next takes over or the bow leaves the string.

    Parameters
    ----------
    notes
        Notes of one line, in time order, shape (n,).

    Returns
    -------
    The onsets of the line, and the onset each note belongs to, shape (n,). Of a chord the note
    that leads on counts: the last one to end before the next onset.

    Not modelled: pedals, and the ring of a string.
    """
    ends = find_note_ends(notes)
    first = ends.first_note
    next_s = np.append(ends.onset_s[1:], np.inf)[: len(first)]
    pitch = notes.pitch.astype(np.int64)
    if not len(first):
        nothing, never = np.empty(0), np.empty(0, np.bool_)
        none = np.empty(0, np.int64)
        return NoteLengths(nothing, nothing, never, never, never, none, none, nothing), none
    size = np.diff(np.append(first, len(notes)))
    lowest = np.minimum.reduceat(pitch, first)
    chord = np.stack(
        [size, lowest, np.maximum.reduceat(pitch, first), np.add.reduceat(pitch, first)]
    )
    repeats = np.append(np.all(chord[:, 1:] == chord[:, :-1], axis=0), False)
    gap_s = next_s - ends.onset_s
    sounds_s = _until_s(ends, next_s) - ends.onset_s
    taken_over = ends.is_joined & (
        np.abs(ends.heard_release_s - next_s[ends.onset_of_note]) <= _CLOCK_S
    )
    is_near = gap_s - sounds_s <= LENGTHS.touching_gap_s
    lengths = NoteLengths(
        gap_s=gap_s,
        sounds_s=sounds_s,
        overlaps=np.logical_or.reduceat(taken_over, first) & ~repeats,
        touches=is_near & (sounds_s >= LENGTHS.touching_share * gap_s),
        repeats=repeats,
        lowest=lowest,
        size=size,
        accent=_accents(np.maximum.reduceat(notes.velocity, first).astype(np.float64)),
    )
    return lengths, ends.onset_of_note


def _until_s(ends: NoteEnds, next_s: NDArray[np.float64]) -> NDArray[np.float64]:
    heard = ends.heard_release_s
    leads_on = heard <= next_s[ends.onset_of_note] + _CLOCK_S
    until_s = np.maximum.reduceat(np.where(leads_on, heard, -np.inf), ends.first_note)
    held_s = np.minimum.reduceat(heard, ends.first_note)
    return np.where(np.isfinite(until_s), until_s, held_s)


def _accents(velocity: NDArray[np.float64]) -> NDArray[np.float64]:
    reach = int(LENGTHS.accent_window)
    padded = np.pad(velocity, reach, mode="reflect" if len(velocity) > reach else "edge")
    around = np.lib.stride_tricks.sliding_window_view(padded, 2 * reach + 1)
    accents: NDArray[np.float64] = velocity - np.median(around, axis=1)
    return accents
