"""The sheet of a class as one page: the table, the points as a picture, what to teach next."""

from __future__ import annotations

from typing import Any

from mockcheck.grade.likeness import Likeness
from mockcheck.grade.statistics import ClassStatistics, Mistake, class_statistics
from mockcheck.grade.whole_class import ClassGrades, StudentGrade
from mockcheck.model.finding import Severity
from mockcheck.model.words import count_of, printable
from mockcheck.report._class_drawings import findings_along, histogram
from mockcheck.report._points_words import check_words, points_text, status_words
from mockcheck.report._standalone import render_standalone
from mockcheck.report.class_sheet import page_paths

_MOST_MISTAKES = 5


def render_class_page(grades: ClassGrades, *, has_reference: bool = False) -> str:
    """The teacher's page; it names everybody, so it is not for the students."""
    statistics = class_statistics(grades)
    pages = page_paths(grades.students)
    listed = zip(grades.students, pages, strict=True)
    return render_standalone(
        "class.html.j2",
        ("review.css", "grade.css"),
        "class.js",
        headline=class_headline(grades, statistics),
        has_words=bool(grades.rubric.words),
        has_reference=has_reference,
        total=f"{grades.rubric.total:g}",
        students=[_row(row, page, grades) for row, page in listed],
        histogram=histogram(statistics.columns, grades.rubric.total) if statistics else "",
        figures=_figures(statistics) if statistics else [],
        mistakes=[_mistake(row, statistics) for row in statistics.mistakes[:_MOST_MISTAKES]]
        if statistics
        else [],
        likenesses=[_likeness(row) for row in grades.likenesses],
        to_look_at=[
            (printable(row.student.name), row.for_teacher)
            for row in grades.students
            if row.for_teacher
        ],
    )


def class_headline(grades: ClassGrades, statistics: ClassStatistics | None) -> str:
    """'40 students, 38 graded: half of them between 61 and 84 of 100 points.'"""
    everyone = count_of(len(grades.students), "student")
    if statistics is None:
        return f"{everyone}, none of whose files could be graded."
    return (
        f"{everyone}, {statistics.graded} graded: the middle half has"
        f" {statistics.lower_quarter:.0f} to {statistics.upper_quarter:.0f} of"
        f" {grades.rubric.total:g} points."
    )


def _row(row: StudentGrade, page: str, grades: ClassGrades) -> dict[str, Any]:
    shown: dict[str, Any] = {
        "name": printable(row.student.name),
        "id": printable(row.student.id),
        "page": page,
        "note": status_words(row),
        "look_at": len(row.for_teacher),
        "points": None,
    }
    if row.grade is None:
        return shown
    grade = row.grade
    return shown | {
        "points": f"{grade.points:.2f}",
        "word": grades.rubric.word_for(grade.points),
        "counts": [grade.counts[severity] for severity in sorted(Severity, reverse=True)],
        "bars": f"{grade.submission.played_bars:.0f}",
        "against": points_text(grade.reference_lost),
        "along": findings_along(grade),
        "density": sum(grade.counts.values()),
    }


def _figures(statistics: ClassStatistics) -> list[tuple[str, str]]:
    return [
        ("Median", f"{statistics.median:.2f}"),
        ("Lower quarter", f"{statistics.lower_quarter:.2f}"),
        ("Upper quarter", f"{statistics.upper_quarter:.2f}"),
        ("Lowest", f"{statistics.least:.2f}"),
        ("Highest", f"{statistics.most:.2f}"),
    ]


def _mistake(row: Mistake, statistics: ClassStatistics) -> dict[str, str]:
    title, why = check_words(row.check)
    return {
        "title": title,
        "check": row.check,
        "who": (
            f"{row.students} of {count_of(statistics.graded, 'student')}, in"
            f" {count_of(row.places, 'place')}; {row.points:.2f} points a student on average"
        ),
        "why": why,
    }


def _likeness(row: Likeness) -> dict[str, str]:
    return {
        "pair": f"{printable(row.student)} and {printable(row.other)}",
        "share": f"{100 * row.share:.0f} %",
        "notes": count_of(row.notes, "note"),
        "where": printable(row.where),
        "other_where": printable(row.other_where),
    }
