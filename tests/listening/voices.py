"""How many notes of a divided track are heard on the right line."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import groupby, permutations
from pathlib import Path

import mockcheck
from mockcheck.model.played import LINE_KINDS, PlayedPart, PlayedScore
from tests.listening.dividing import divisi_renderings, render_double_stops
from tests.listening.hearing import chunk_of_rows
from tests.listening.printed import Sheet
from tests.listening.tables import Cell, table
from tests.listening.truth import Rendering, TruthRow

_MOST_TO_TRY = 7
Lines = Sequence[tuple[int, ...]]


def notes_on_right_line(true: Lines, heard: Sequence[int]) -> int:
    """Notes on the right line under the best naming of the heard lines.

    Parameters
    ----------
    true
        The line of each note, or the lines that meet on it: any of them is right.
    heard
        The line that was heard for each, any numbers.

    Each true line goes by one heard line at most, the other way round too: a line that was cut in
    two is right in its larger half only.
    """
    pairs = Counter(
        (line, int(own)) for lines, own in zip(true, heard, strict=True) for line in lines
    )
    true_lines = sorted({line for line, _ in pairs})
    # Beyond the commonest no heard line can name a true one of this few.
    sizes = Counter(int(own) for own in heard)
    heard_lines = [own for own, _ in sizes.most_common(_MOST_TO_TRY)]
    heard_lines += [-1 - n for n in range(max(len(true_lines) - len(heard_lines), 0))]
    names = max(
        permutations(heard_lines, len(true_lines)),
        key=lambda chosen: sum(
            pairs[line, own] for line, own in zip(true_lines, chosen, strict=True)
        ),
    )
    name_of = dict(zip(true_lines, names, strict=True))
    return sum(
        any(name_of[line] == int(own) for line in lines)
        for lines, own in zip(true, heard, strict=True)
    )


@dataclass
class VoiceFigures:
    """Notes by number of lines, those on the right line, and what several at once are taken for."""

    notes: Counter[str] = field(default_factory=Counter)
    right: Counter[str] = field(default_factory=Counter)
    by_height: Counter[str] = field(default_factory=Counter)
    kinds: dict[str, Counter[str]] = field(default_factory=lambda: defaultdict(Counter))

    def measure(self, sheet: Sheet, folder: Path, seed: int) -> None:
        """Render the divided tracks of one anthology and listen; the double stops of one too."""
        for rendering in divisi_renderings(sheet, folder, seed):
            self._count(rendering)
        alone = render_double_stops(sheet, folder, seed=seed)
        if alone is not None:
            self._count_kinds(alone, mockcheck.play(mockcheck.load(alone.path)))

    def _count(self, rendering: Rendering) -> None:
        lines = [row.lines for row in rendering.rows]
        ranks = rank_by_height([(row.onset, row.release, row.pitch) for row in rendering.rows])
        self.notes[rendering.habit] += len(lines)
        self.by_height[rendering.habit] += notes_on_right_line(lines, ranks)
        played = mockcheck.play(mockcheck.load(rendering.path))
        self._count_kinds(rendering, played)
        heard = [
            (row.lines, int(part.lines.line[place]))
            for part in played.parts
            if part.lines is not None
            for place, row in _rows_by_place(rendering, part).items()
        ]
        if heard:
            self.right[rendering.habit] += notes_on_right_line(
                [true for true, _ in heard], [line for _, line in heard]
            )

    def _count_kinds(self, rendering: Rendering, played: PlayedScore) -> None:
        """What the notes are taken for that are struck with another of their track."""
        for part in played.parts:
            if part.lines is None:
                continue
            places = _rows_by_place(rendering, part)
            struck = Counter(row.onset for row in places.values())
            for place, row in places.items():
                if struck[row.onset] > 1:
                    kind = LINE_KINDS[int(part.lines.kind[place])]
                    self.kinds[rendering.habit][kind] += 1

    def text(self) -> str:
        """The tables."""
        rows = []
        for habit, count in self.notes.items():
            right = self.right[habit] / count if self.right[habit] else "not heard yet"
            rows.append((habit, count, right, self.by_height[habit] / count))
        head = ("track", "notes", "on the right line", "simply ranked from the top")
        title = "9. Lines of a divided track (target: 0.97 of the notes)"
        kinds: list[tuple[Cell, ...]] = [
            (habit, *(counted[kind] for kind in LINE_KINDS))
            for habit, counted in self.kinds.items()
        ]
        taken = table("10. Notes struck together are taken for", ("track", *LINE_KINDS), kinds)
        return f"{table(title, head, rows)}\n{taken}"


def _rows_by_place(rendering: Rendering, part: PlayedPart) -> dict[int, TruthRow]:
    """The true note of each place in a part that is one."""
    true = {(row.track, row.onset, row.pitch): row for row in rendering.rows}
    chunk = chunk_of_rows(part)
    keys = zip(part.track, part.notes.onset_ticks, part.notes.pitch, strict=True)
    places = ((chunk[int(row)], int(onset), int(pitch)) for row, onset, pitch in keys)
    return {place: true[key] for place, key in enumerate(places) if key in true}


def rank_by_height(notes: Sequence[tuple[int, int, int]]) -> list[int]:
    """What a reader without memory would say: the line of a note is its rank among what sounds.

    Notes are (onset, release, pitch) in order of onset; the yardstick a listener has to beat.
    """
    ranks = []
    sounding: list[tuple[int, int]] = []
    for onset, together in groupby(notes, key=lambda note: note[0]):
        struck = [(pitch, release) for _, release, pitch in together]
        sounding = [note for note in sounding if note[1] > onset] + struck
        ranks += [sum(other > pitch for other, _ in sounding) for pitch, _ in struck]
    return ranks
