"""How a piece differs from the model it was to follow: notes, rhythm, tempo, orchestration.

Every part of the model is held against the part that has its music. Notes that could be the same
(one pitch, or one place) are candidates; the heaviest chain of them that runs forward in both
lines, found by dynamic programming, says which note became which. What is left on either side is
missing or extra.

Source: Dasgupta, Papadimitriou and Vazirani, Algorithms, 2006, chapter 6 (alignment of sequences).
Not modelled: how long a note is held, which a hand decides; other voices inside one part.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from mockcheck.grade._same_parts import PartPair, pair_parts
from mockcheck.grade.music import PartMusic, PieceMusic
from mockcheck.grade.rubric import ReferenceTable
from mockcheck.model.words import bars_words, count_of
from mockcheck.plan._ties import Ties, heaviest_chain
from mockcheck.plan.alignment import PlaceMap

WINDOW_QUARTERS = 1.0
"""A note further from where it should be is another note."""
_WEIGHTS = {"same": 2.0, "rhythm": 1.4, "octave": 1.0, "wrong": 0.9}
"""What a pair is worth: a missing and an extra note together are worth nothing, so one wrong note
is better than these two."""
KINDS = ("missing", "wrong", "octave", "rhythm", "extra")
_KIND_WORDS = {
    "missing": "missing",
    "wrong": "with another pitch",
    "octave": "in another octave",
    "rhythm": "at another time",
    "extra": "not in the model",
}
_MOST_BARS = 8


@dataclass(frozen=True)
class Difference:
    """One note that differs; `bar` is the student's, or the model's of a missing note."""

    kind: str
    part: str
    bar: int


@dataclass(frozen=True)
class ReferenceReport:
    """A piece against its model.

    Parameters
    ----------
    notes
        Notes of the model.
    same
        Notes of the model that are there, in pitch and place.
    differences
        All others, and the extra ones.
    transposed
        Parts that stand higher or lower as a whole, with the semitones.
    moved
        (part of the model, its instrument, the piece's part, its instrument) where a line has gone
        to another instrument.
    absent, added
        Parts of the model whose music is nowhere, parts of the piece with no music of the model.
    tempo_bars, compared_bars
        Bars of the model whose tempo is another in the piece, and all that could be compared.
    """

    notes: int
    same: int
    differences: tuple[Difference, ...]
    transposed: tuple[tuple[str, int], ...]
    moved: tuple[tuple[str, str, str, str], ...]
    absent: tuple[str, ...]
    added: tuple[str, ...]
    tempo_bars: tuple[int, ...]
    compared_bars: int

    def count(self, kind: str) -> int:
        """Notes that differ in one way."""
        return sum(row.kind == kind for row in self.differences)


@dataclass(frozen=True)
class ReferenceLoss:
    """One line of what the comparison costs, in hundredths of a point before the cap on all."""

    words: str
    price: int


def compare_with_reference(
    model: PieceMusic, piece: PieceMusic, table: ReferenceTable
) -> ReferenceReport:
    """Hold a piece against its model; bars may have come in or gone, parts may be transposed."""
    pairs, way = pair_parts(model.parts, piece.parts)
    differences: list[Difference] = []
    same = 0
    matched: list[tuple[PartMusic, PartMusic, NDArray[np.int64], NDArray[np.int64]]] = []
    for pair in pairs:
        rows, found = _matched(pair, way, table.rhythm_tolerance_quarters)
        differences += found
        same += len(rows[0]) - sum(row.kind in {"wrong", "octave", "rhythm"} for row in found)
        matched.append((pair.model, pair.piece, *rows))
    used = {id(pair.piece) for pair in pairs}
    known = {id(pair.model) for pair in pairs}
    absent = [part for part in model.parts if id(part) not in known]
    added = [part for part in piece.parts if id(part) not in used]
    differences += [Difference("missing", p.part, int(bar)) for p in absent for bar in p.bar]
    differences += [Difference("extra", p.part, int(bar)) for p in added for bar in p.bar]
    off, compared = _tempo_bars(matched, way.stretch, table.tempo_tolerance)
    return ReferenceReport(
        notes=model.note_count,
        same=same,
        differences=tuple(differences),
        transposed=tuple((pair.piece.part, pair.shift) for pair in pairs if pair.shift),
        moved=tuple(
            (p.model.part, p.model.instrument, p.piece.part, p.piece.instrument)
            for p in pairs
            if p.model.instrument != p.piece.instrument
        ),
        absent=tuple(part.part for part in absent),
        added=tuple(part.part for part in added),
        tempo_bars=off,
        compared_bars=compared,
    )


def _matched(
    pair: PartPair, way: PlaceMap, tolerance: float
) -> tuple[tuple[NDArray[np.int64], NDArray[np.int64]], list[Difference]]:
    """Rows of the model and of the piece that are one note, and everything that differs."""
    model, piece = pair.model, pair.piece
    candidates = _candidates(pair, way, tolerance)
    ties = Ties(
        np.array([row for row, _, _ in candidates], np.float64),
        np.array([row for _, row, _ in candidates], np.float64),
        np.zeros(len(candidates), np.int64),
        np.array([_WEIGHTS[kind] for _, _, kind in candidates], np.float64),
    )
    chain = heaviest_chain(ties)
    kinds = {(left, right): kind for left, right, kind in candidates}
    one = dict(zip(chain.old.astype(int).tolist(), chain.new.astype(int).tolist(), strict=True))
    _add_crossing(one, candidates)
    differences = [
        Difference(kind, piece.part, int(piece.bar[right]))
        for left, right in one.items()
        if (kind := kinds[left, right]) != "same"
    ]
    differences += [
        Difference("missing", piece.part, int(model.bar[row]))
        for row in range(len(model.pitch))
        if row not in one
    ]
    taken = set(one.values())
    differences += [
        Difference("extra", piece.part, int(piece.bar[row]))
        for row in range(len(piece.pitch))
        if row not in taken
    ]
    rows = sorted(one.items())
    columns = np.array(rows, np.int64).reshape(-1, 2).T
    return (columns[0], columns[1]), differences


def _candidates(pair: PartPair, way: PlaceMap, tolerance: float) -> list[tuple[int, int, str]]:
    """Pairs of notes that could be the same, in order of the model, then of the piece."""
    places = pair.piece.onset_quarters
    written = pair.model.onset_quarters
    expected = [way.follow(written, ties) for ties in way.neighbours(written)]
    wanted = pair.model.pitch + pair.shift
    found: dict[tuple[int, int], float] = {}
    for column in expected:
        first = np.searchsorted(places, column - WINDOW_QUARTERS)
        after = np.searchsorted(places, column + WINDOW_QUARTERS, side="right")
        for left, (low, high) in enumerate(zip(first.tolist(), after.tolist(), strict=True)):
            for right in range(low, high):
                off = abs(float(places[right] - column[left]))
                found[left, right] = min(off, found.get((left, right), off))
    rows = []
    for (left, right), off in sorted(found.items()):
        is_there = off <= tolerance
        interval = int(pair.piece.pitch[right] - wanted[left])
        if interval == 0:
            rows.append((left, right, "same" if is_there else "rhythm"))
        elif is_there:
            rows.append((left, right, "octave" if interval % 12 == 0 else "wrong"))
    return rows


def _add_crossing(one: dict[int, int], candidates: Sequence[tuple[int, int, str]]) -> None:
    """Pair what is left over: a wrong note may stand on the other side of a chord's other notes."""
    taken = set(one.values())
    for left, right, _ in sorted(candidates, key=lambda row: (-_WEIGHTS[row[2]], row)):
        if left not in one and right not in taken:
            one[left] = right
            taken.add(right)


def _tempo_bars(
    matched: Sequence[tuple[PartMusic, PartMusic, NDArray[np.int64], NDArray[np.int64]]],
    stretch: float,
    tolerance: float,
) -> tuple[tuple[int, ...], int]:
    """Bars of the model that last longer or shorter in the piece, and the bars compared.

    A bar is measured from the first note that both have in it to the first in the next such bar;
    note values that are all longer by `stretch` are no other tempo.
    """
    first: dict[int, tuple[float, float, float, float]] = {}
    for model, piece, left, right in matched:
        for row, other in zip(left.tolist(), right.tolist(), strict=True):
            bar = int(model.bar[row])
            here = (
                float(model.onset_quarters[row]),
                float(model.onset_s[row]),
                float(piece.onset_quarters[other]),
                float(piece.onset_s[other]),
            )
            if bar and (bar not in first or here < first[bar]):
                first[bar] = here
    off = []
    bars = sorted(first)
    for bar, after in pairwise(bars):
        quarters, seconds, own_quarters, own_seconds = np.subtract(first[after], first[bar])
        if min(quarters, seconds, own_quarters, own_seconds) <= 0:
            continue
        # By the quarter, so that bars that came in between are no change of tempo.
        ratio = stretch * own_seconds * quarters / (own_quarters * seconds)
        if abs(np.log(ratio)) > np.log1p(tolerance):
            off.append(bar)
    return tuple(off), max(len(bars) - 1, 0)


def reference_losses(report: ReferenceReport, table: ReferenceTable) -> tuple[ReferenceLoss, ...]:
    """What the differences cost, a line each; lines that cost nothing are left out."""
    rows = [*_note_losses(report, table), *_part_losses(report, table)]
    if report.tempo_bars:
        share = len(report.tempo_bars) / report.compared_bars
        which = bars_words(report.tempo_bars, _MOST_BARS)
        words = (
            f"Another tempo than the model's in {len(report.tempo_bars)} of"
            f" {count_of(report.compared_bars, 'bar')} ({which})"
        )
        rows.append((words, table.tempo * share))
    return tuple(
        ReferenceLoss(words, price) for words, points in rows if (price := round(points * 100)) > 0
    )


def _note_losses(report: ReferenceReport, table: ReferenceTable) -> Iterator[tuple[str, float]]:
    for kind in KINDS:
        rows = [row for row in report.differences if row.kind == kind]
        by_part = Counter(row.part for row in rows)
        for part, number in sorted(by_part.items()):
            bars = [row.bar for row in rows if row.part == part and row.bar]
            where = f" ({bars_words(bars, _MOST_BARS)})" if bars else ""
            words = f"{part}: {count_of(number, 'note')} {_KIND_WORDS[kind]}{where}"
            yield words, getattr(table, kind) * 100 * number / max(report.notes, 1)


def _part_losses(report: ReferenceReport, table: ReferenceTable) -> Iterator[tuple[str, float]]:
    for part, semitones in report.transposed:
        yield (
            f"{part}: the line stands {shift_words(semitones)} than the model's",
            (table.transposed_part),
        )
    for line, instrument, part, other in report.moved:
        words = f"The line of {line} ({instrument}) is given to {part} ({other})"
        yield words, table.instrument


def shift_words(semitones: int) -> str:
    """'an octave higher', '2 octaves lower', '5 semitones lower'."""
    size, way = abs(semitones), "higher" if semitones > 0 else "lower"
    if size % 12:
        return f"{count_of(size, 'semitone')} {way}"
    return f"an octave {way}" if size == 12 else f"{size // 12} octaves {way}"
