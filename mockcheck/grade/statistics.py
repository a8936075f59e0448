"""What the class did as a whole: the middle, the spread, and the mistakes that many made."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from mockcheck.grade.points import HUNDREDTHS
from mockcheck.grade.whole_class import ClassGrades, StudentGrade

COLUMNS = 10
"""Columns of the histogram."""


@dataclass(frozen=True)
class Mistake:
    """One kind of mistake over the class.

    `students` made it, in `places` places; `points` is what it took from the mean of the class.
    """

    check: str
    students: int
    places: int
    points: float


@dataclass(frozen=True)
class ClassStatistics:
    """Points of the class; quarters are of students in order of points.

    `columns` are students by tenths of the total, the last with the total itself.
    """

    graded: int
    median: float
    lower_quarter: float
    upper_quarter: float
    least: float
    most: float
    columns: tuple[int, ...]
    mistakes: tuple[Mistake, ...]


def class_statistics(grades: ClassGrades) -> ClassStatistics | None:
    """The class in figures; None where nobody has points."""
    rows = grades.graded
    if not rows:
        return None
    points = np.array([row.grade.points for row in rows if row.grade is not None])
    lower, median, upper = (float(value) for value in np.percentile(points, (25, 50, 75)))
    columns, _ = np.histogram(points, bins=COLUMNS, range=(0, grades.rubric.total))
    return ClassStatistics(
        graded=len(rows),
        median=median,
        lower_quarter=lower,
        upper_quarter=upper,
        least=float(points.min()),
        most=float(points.max()),
        columns=tuple(int(number) for number in columns),
        mistakes=_mistakes(rows),
    )


def _mistakes(rows: Sequence[StudentGrade]) -> tuple[Mistake, ...]:
    """The mistakes that cost the class most, which is what to teach next."""
    students: dict[str, set[int]] = {}
    places: dict[str, int] = {}
    lost: dict[str, int] = {}
    for index, row in enumerate(rows):
        for charge in row.grade.charges if row.grade else ():
            check = charge.mark.finding.check
            students.setdefault(check, set()).add(index)
            places[check] = places.get(check, 0) + 1
            lost[check] = lost.get(check, 0) + charge.lost
    mistakes = [
        Mistake(check, len(who), places[check], lost[check] / HUNDREDTHS / len(rows))
        for check, who in students.items()
    ]
    return tuple(sorted(mistakes, key=lambda row: (-row.points, -row.students, row.check)))
