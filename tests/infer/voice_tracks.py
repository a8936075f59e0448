"""Lines put on one track, and what is heard of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.divisi import find_lines
from mockcheck.infer.overlaps import NoteEnds
from mockcheck.infer.sonorities import find_sonorities
from mockcheck.infer.tails import find_part_ends
from mockcheck.infer.texture import Texture, find_texture
from mockcheck.infer.voices import find_voices
from mockcheck.instruments import instrument
from mockcheck.model.notes import Notes
from mockcheck.model.played import LINE_KINDS, PartLines, Sonorities
from tests.infer.tracks import Row, notes_of


@dataclass(frozen=True)
class Heard:
    """The music of one track and everything that its lines are found from."""

    notes: Notes
    ends: NoteEnds
    sonorities: Sonorities
    texture: Texture

    @property
    def voices(self) -> NDArray[np.int64]:
        return find_voices(self.notes, self.ends, self.sonorities, self.texture)


def hear(notes: Notes) -> Heard:
    ends = find_part_ends(notes, np.zeros(len(notes), np.int64))
    sonorities = find_sonorities(notes, ends)
    return Heard(notes, ends, sonorities, find_texture(notes.pitch, ends, sonorities))


def in_order(rows: Sequence[Row]) -> NDArray[np.int64]:
    """Rows in the order that notes made of them have: by onset to the millisecond, then pitch."""
    table = np.round(np.array(rows, np.float64).reshape(-1, 3), 3)
    return np.lexsort((np.arange(len(rows)), table[:, 0], table[:, 1]))


def voices_of(*lines: Sequence[Row]) -> list[list[int]]:
    """The lines heard for the notes of each true line, in order of time."""
    rows = [row for line in lines for row in line]
    owner = np.repeat(np.arange(len(lines)), [len(line) for line in lines])
    order = in_order(rows)
    found = hear(notes_of(*rows)).voices
    return [found[owner[order] == line].tolist() for line in range(len(lines))]


def lines_of(
    *tracks: Sequence[Row], player: str = "violin", players: int = 8
) -> tuple[PartLines, NDArray[np.int64]]:
    """The lines of a part that is spread over tracks, and the track of each note."""
    rows = [row for track in tracks for row in track]
    owner = np.repeat(np.arange(len(tracks)), [len(track) for track in tracks])
    order = in_order(rows)
    notes, track = notes_of(*rows), owner[order]
    ends = find_part_ends(notes, track)
    sonorities = find_sonorities(notes, ends)
    return find_lines(notes, track, ends, sonorities, instrument(player), players), track


def kinds_of(lines: PartLines) -> list[str]:
    return [LINE_KINDS[code] for code in lines.kind.tolist()]
