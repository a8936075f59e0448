"""Shares of right answers: by class, and by how sure the answer was."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from tests.listening.hearing import HeardNote

BINS = 10


@dataclass
class Found:
    """What was there, what was claimed, and what of it was right."""

    true: int = 0
    claimed: int = 0
    right: int = 0

    @property
    def precision(self) -> float:
        return self.right / self.claimed if self.claimed else float("nan")

    @property
    def recall(self) -> float:
        return self.right / self.true if self.true else float("nan")

    @property
    def f1(self) -> float:
        both = self.true + self.claimed
        return 2 * self.right / both if both else float("nan")

    def add(self, other: Found) -> None:
        """Count these too."""
        self.true += other.true
        self.claimed += other.claimed
        self.right += other.right


@dataclass
class Confusion:
    """How often each true articulation was heard as each."""

    pairs: Counter[tuple[str, str]] = field(default_factory=Counter)

    def add(self, notes: Iterable[HeardNote]) -> None:
        """Count these notes."""
        self.pairs.update((note.row.articulation, note.counted_as) for note in notes)

    def of_class(self, name: str) -> Found:
        """One class against all others."""
        return Found(
            true=sum(count for (true, _), count in self.pairs.items() if true == name),
            claimed=sum(count for (_, heard), count in self.pairs.items() if heard == name),
            right=self.pairs[name, name],
        )

    def macro_f1(self, names: Sequence[str]) -> float:
        """Mean F1 of the classes that occur; each counts the same, however many notes it has."""
        scores = [found.f1 for name in names if (found := self.of_class(name)).true]
        return sum(scores) / len(scores) if scores else float("nan")

    @property
    def accuracy(self) -> float:
        total = sum(self.pairs.values())
        right = sum(count for (true, heard), count in self.pairs.items() if true == heard)
        return right / total if total else float("nan")

    def most_confused(self, most: int) -> list[tuple[str, str, int]]:
        """The commonest wrong answers: true, heard, how often."""
        wrong = [(count, *pair) for pair, count in self.pairs.items() if pair[0] != pair[1]]
        wrong.sort(key=lambda row: (-row[0], row[1:]))
        return [(true, heard, count) for count, true, heard in wrong[:most]]


def slurred_joins(notes: Sequence[HeardNote]) -> Found:
    """Notes of a track that follow each other under one slur, and those heard so.

    Portato is left out: gaps do not show one bow under them.
    """
    result = Found()
    order = sorted(notes, key=lambda note: (note.row.track, note.row.onset))
    for one, two in pairwise(order):
        is_portato = "portato" in (one.row.articulation, two.row.articulation)
        if one.row.track != two.row.track or is_portato:
            continue
        is_true = one.row.slur == two.row.slur >= 0
        is_heard = one.slur == two.slur >= 0
        result.true += is_true
        result.claimed += is_heard
        result.right += is_true and is_heard
    return result


@dataclass
class Reliability:
    """How often answers of each confidence are right.

    A diagram of reliability; the expected calibration error is the mean distance of confidence
    and share right over equally wide bins, weighted by answers (Naeini and others 2015, from
    memory).
    """

    answers: Counter[int] = field(default_factory=Counter)
    right: Counter[int] = field(default_factory=Counter)
    confidence: dict[int, float] = field(default_factory=dict)

    def add(self, notes: Iterable[HeardNote]) -> None:
        """Count these notes; what was taken for no music has no confidence."""
        for note in notes:
            if note.articulation is None:
                continue
            row = min(int(note.confidence * BINS), BINS - 1)
            self.answers[row] += 1
            self.right[row] += note.is_right
            self.confidence[row] = self.confidence.get(row, 0.0) + note.confidence

    def bins(self) -> list[tuple[float, float, int]]:
        """Mean confidence, share right and number of answers of each bin that has any."""
        return [
            (self.confidence[row] / count, self.right[row] / count, count)
            for row, count in sorted(self.answers.items())
        ]

    @property
    def calibration_error(self) -> float:
        total = sum(self.answers.values())
        off = sum(abs(sure - right) * count for sure, right, count in self.bins())
        return off / total if total else float("nan")
