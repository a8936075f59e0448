import pytest

from mockcheck.grade.roster import Student
from mockcheck.grade.rubric import rubric_from
from mockcheck.grade.statistics import class_statistics
from mockcheck.grade.whole_class import grade_class
from mockcheck.model.finding import Severity
from tests.grade.test_points import PLAIN
from tests.grade.works import finding, piece

RUBRIC = rubric_from(PLAIN, "r")


def test_the_middle_the_quarters_and_the_columns() -> None:
    counts = (0, 1, 2, 3, 4)
    pieces = {
        str(n): piece(
            *(finding(c, bar=3 + 2 * i) for i, c in enumerate(CHECKS[:n])),
            name=str(n),
        )
        for n in counts
    }
    students = [Student(name, (name,)) for name in pieces] + [Student("Nobody", ())]
    found = class_statistics(grade_class(students, pieces, {}, RUBRIC))
    assert found is not None
    assert found.graded == 5
    assert (found.least, found.lower_quarter, found.median) == (84, 88, 92)
    assert (found.upper_quarter, found.most) == (96, 100)
    assert found.columns == (0, 0, 0, 0, 0, 0, 0, 0, 2, 3)


CHECKS = ("run-too-fast", "note-above-range", "bow-runs-out", "slides-overused")


def test_the_dearest_mistakes_of_the_class_come_first() -> None:
    pieces = {
        "a": piece(*(finding(bar=bar) for bar in (1, 5)), name="a"),
        "b": piece(finding("note-above-range", Severity.AWKWARD), finding(bar=9), name="b"),
    }
    students = [Student(name, (name,)) for name in pieces]
    found = class_statistics(grade_class(students, pieces, {}, RUBRIC))
    assert found is not None
    first, second = found.mistakes
    assert (first.check, first.students, first.places) == ("run-too-fast", 2, 3)
    assert first.points == pytest.approx(6)
    assert (second.check, second.students, second.points) == ("note-above-range", 1, 1)


def test_nobody_graded_has_no_figures() -> None:
    assert class_statistics(grade_class([Student("Cy", ())], {}, {}, RUBRIC)) is None
