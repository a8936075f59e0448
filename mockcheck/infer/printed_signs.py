"""Which accidentals the page shows, note by note, by the rule that one holds to the bar line.

Source: common practice: a sign holds for its own line or space, in its own octave, until the bar
line; the key signature holds for all octaves.
Not modelled: a sign repeated for the second of two voices on one staff.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.model.columns import freeze_columns
from mockcheck.model.played import PlayedPart
from mockcheck.model.spelled import accidentals_of, signature_alterations, staff_steps


@dataclass(frozen=True)
class PrintedSigns:
    """What stands in front of each note of a part; every column has shape (n,).

    Parameters
    ----------
    bar_index
        Bar, from 0, that the note is written in.
    step
        Line or space, as `staff_steps` counts.
    alteration
        Sharps of the note, or flats below 0.
    by_signature
        The same that the key signature asks on its letter.
    is_printed
        A sign is needed here: neither the signature nor an earlier sign in the bar says it.
    is_again
        Printed, and the same line or space had another sign earlier in the bar.
    """

    bar_index: NDArray[np.int64]
    step: NDArray[np.int64]
    alteration: NDArray[np.int64]
    by_signature: NDArray[np.int64]
    is_printed: NDArray[np.bool_]
    is_again: NDArray[np.bool_]

    def __post_init__(self) -> None:
        freeze_columns(self)

    @property
    def is_foreign(self) -> NDArray[np.bool_]:
        """Notes that the signature does not have."""
        foreign: NDArray[np.bool_] = self.alteration != self.by_signature
        return foreign


def printed_signs(part: PlayedPart) -> PrintedSigns | None:
    """The signs of a part as its notes are spelled; None where it has no bars or no spelling.

    The signature is the one the file gives; where it gives none, the one of the key area.
    """
    spelling, meter = part.spelling, part.timeline.meter
    if spelling is None or meter is None:
        return None
    bar = written_bars(part)
    fifths = spelling.fifths.astype(np.int64)
    step = staff_steps(part.notes.pitch.astype(np.int64), fifths)
    alteration = accidentals_of(fifths)
    by_signature = signature_alterations(signature_of(part), step)
    order = np.lexsort((np.arange(len(step)), step, bar))
    is_first = np.ones(len(step), np.bool_)
    is_first[1:] = (np.diff(bar[order]) != 0) | (np.diff(step[order]) != 0)
    sorted_alteration = alteration[order]
    in_force = np.where(is_first, by_signature[order], np.roll(sorted_alteration, 1))
    printed = sorted_alteration != in_force
    before = np.cumsum(printed) - printed
    group_first = np.maximum.accumulate(np.where(is_first, np.arange(len(step)), 0))
    again = printed & (before > before[group_first]) if len(step) else printed
    is_printed, is_again = np.empty_like(printed), np.empty_like(printed)
    is_printed[order], is_again[order] = printed, again
    return PrintedSigns(bar, step, alteration, by_signature, is_printed, is_again)


def signature_of(part: PlayedPart) -> NDArray[np.int64]:
    """Key signature each note is read under: sharps, or flats below 0, shape (n,)."""
    if part.spelling is None:
        return np.zeros(len(part.notes), np.int64)
    spelling = part.spelling
    chosen = np.where(spelling.has_signature, spelling.signature_fifths, spelling.key_fifths)
    return chosen.astype(np.int64)


def written_bars(part: PlayedPart) -> NDArray[np.int64]:
    """Bar, from 0, each note is written in, shape (n,); played early, a downbeat stays one.

    Raises ValueError where the part has no bars.
    """
    if part.timeline.meter is None:
        message = f"'{part.name}' has no bars"
        raise ValueError(message)
    if part.written is None:
        return part.timeline.meter.bar_index(part.notes.onset_ticks)
    return part.written.grid.bar_index[part.written.onsets.beat]
