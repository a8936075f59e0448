"""What to mend first: the kinds of change that bring the most points."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from mockcheck.grade.points import Grade, grade_submission
from mockcheck.grade.reference import ReferenceLoss
from mockcheck.grade.rubric import Rubric
from mockcheck.grade.submission import Mark

MOST = 3


@dataclass(frozen=True)
class Gain:
    """One kind of change, and what it would bring.

    Parameters
    ----------
    points
        More points if all of it were put right, hundredths; requirements that are then met are in.
    check
        The check whose findings would be gone; '' for another change.
    what
        The requirement or the difference from the model, for such a change.
    marks
        The findings to put right.
    """

    points: int
    check: str
    what: str
    marks: tuple[Mark, ...] = ()


def most_useful(
    grade: Grade, rubric: Rubric, reference: Sequence[ReferenceLoss] = (), most: int = MOST
) -> tuple[Gain, ...]:
    """The changes that bring the most points, the greatest first.

    Each is reckoned by grading again as if that alone were put right, so caps and requirements
    have their say: a check beyond its family's cap gains only what is not lost elsewhere.
    """
    gains = [*_by_check(grade, rubric, reference), *_others(grade)]
    gains = [gain for gain in gains if gain.points > 0]
    # Of equal gains the one with fewer places is less work.
    gains.sort(key=lambda gain: (-gain.points, len(gain.marks), gain.check, gain.what))
    return tuple(gains[:most])


def _by_check(grade: Grade, rubric: Rubric, reference: Sequence[ReferenceLoss]) -> Iterator[Gain]:
    for check in sorted({charge.mark.finding.check for charge in grade.charges}):
        better = grade_submission(grade.submission.without(check), rubric, reference)
        # Good practice is not promised: what earns a bonus may be gone with the change.
        points = better.unbounded - better.earned - (grade.unbounded - grade.earned)
        marks = tuple(row.mark for row in grade.charges if row.mark.finding.check == check)
        yield Gain(points, check, "", marks)


def _others(grade: Grade) -> Iterator[Gain]:
    for row in grade.requirements:
        if row.points and not row.verdict.marks:
            yield Gain(row.points, "", row.wanted)
    listed = sum(loss.price for loss in grade.reference)
    for loss in grade.reference:
        # Beyond the cap of all, what is put right has first to make up for what was spared.
        still_lost = min(listed - loss.price, grade.reference_lost)
        yield Gain(grade.reference_lost - still_lost, "", loss.words)
