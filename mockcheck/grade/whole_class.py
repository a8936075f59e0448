"""A whole class: each student's grade, what is to be looked at, and what is alike."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from mockcheck.grade.attention import notes_for_teacher
from mockcheck.grade.gains import Gain, most_useful
from mockcheck.grade.likeness import Likeness, find_likenesses
from mockcheck.grade.points import Grade, grade_submission
from mockcheck.grade.reference import (
    ReferenceReport,
    compare_with_reference,
    reference_losses,
)
from mockcheck.grade.roster import Student
from mockcheck.grade.rubric import Rubric
from mockcheck.grade.submission import Piece, Submission


@dataclass(frozen=True)
class Fault:
    """A file that could not be reviewed, and why; `is_ours` when mockcheck failed, not the file."""

    file: str
    reason: str
    is_ours: bool = False


@dataclass(frozen=True)
class StudentGrade:
    """Everything about one student; `grade` is None where no file of theirs could be reviewed.

    Parameters
    ----------
    reference, reference_piece
        The comparison with the model, if there is one, and which of the files was compared: the
        one with most of its music.
    for_teacher
        What the teacher has to look at, as sentences.
    """

    student: Student
    faults: tuple[Fault, ...]
    grade: Grade | None = None
    gains: tuple[Gain, ...] = ()
    reference: ReferenceReport | None = None
    reference_piece: str = ""
    for_teacher: tuple[str, ...] = ()


@dataclass(frozen=True)
class ClassGrades:
    """A class under one rubric, students in the order of the roster or of their names."""

    rubric: Rubric
    students: tuple[StudentGrade, ...]
    likenesses: tuple[Likeness, ...]

    @property
    def graded(self) -> tuple[StudentGrade, ...]:
        """Students with points."""
        return tuple(row for row in self.students if row.grade is not None)


def grade_class(
    students: Sequence[Student],
    pieces: Mapping[str, Piece],
    faults: Mapping[str, Fault],
    rubric: Rubric,
    model: Piece | None = None,
) -> ClassGrades:
    """Grade every student.

    Parameters
    ----------
    pieces, faults
        What became of each file, by its path below the folder of the class.
    model
        The score or mock-up that all were to follow.
    """
    rows = tuple(_grade_student(one, pieces, faults, rubric, model) for one in students)
    works = [row.grade.submission for row in rows if row.grade is not None]
    alike = find_likenesses(
        works, model.music if model else None, rubric.likeness.share, rubric.likeness.notes
    )
    return ClassGrades(rubric, rows, alike)


def _grade_student(
    student: Student,
    pieces: Mapping[str, Piece],
    faults: Mapping[str, Fault],
    rubric: Rubric,
    model: Piece | None,
) -> StudentGrade:
    own = tuple(pieces[file] for file in student.files if file in pieces)
    broken = tuple(faults[file] for file in student.files if file in faults)
    if not own:
        return StudentGrade(student, broken)
    work = Submission(student.name, own)
    report, compared = _best_comparison(own, model, rubric)
    losses = reference_losses(report, rubric.reference) if report else ()
    grade = grade_submission(work, rubric, losses)
    row = StudentGrade(student, broken, grade, most_useful(grade, rubric, losses), report, compared)
    looked_for = notes_for_teacher(grade, report, [fault.file for fault in broken])
    return replace(row, for_teacher=looked_for)


def _best_comparison(
    own: Sequence[Piece], model: Piece | None, rubric: Rubric
) -> tuple[ReferenceReport | None, str]:
    if model is None:
        return None, ""
    reports = [
        (compare_with_reference(model.music, piece.music, rubric.reference), piece.name)
        for piece in own
    ]
    return max(reports, key=lambda row: row[0].same)
