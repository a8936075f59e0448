"""The class as a table for a spreadsheet, one row a student, and where each page is written."""

from __future__ import annotations

import csv
import io
import re
import unicodedata
from collections.abc import Sequence

from mockcheck.grade.points import HUNDREDTHS
from mockcheck.grade.whole_class import ClassGrades, StudentGrade
from mockcheck.model.finding import Severity
from mockcheck.model.words import cell
from mockcheck.report._points_words import status_words

FOLDER = "students"
_LONGEST_NAME = 80
_RESERVED = re.compile(r"(con|prn|aux|nul|com\d|lpt\d)", re.IGNORECASE)


def page_paths(students: Sequence[StudentGrade]) -> list[str]:
    """Where each student's page is, below the folder of the sheet; '' without a page.

    Names of letters and digits of any script; two that are one but for capitals get a number, so
    that no page overwrites another on any system.
    """
    paths, taken = [], set()
    for row in students:
        if row.grade is None:
            paths.append("")
            continue
        stem = _safe_name(row.student.name)
        name, number = stem, 1
        while name.casefold() in taken:
            number += 1
            name = f"{stem}-{number}"
        taken.add(name.casefold())
        paths.append(f"{FOLDER}/{name}.html")
    return paths


def _safe_name(student: str) -> str:
    words = re.findall(r"[^\W_]+", unicodedata.normalize("NFC", student))
    name = "-".join(words)[:_LONGEST_NAME].strip("-") or "student"
    return f"{name}-" if _RESERVED.fullmatch(name) else name


def render_class_csv(grades: ClassGrades) -> str:
    """One row a student, those without points included; points in full, no formula can start."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    columns: list[str] | None = None
    for row, page in zip(grades.students, page_paths(grades.students), strict=True):
        values = _values(row, page, grades)
        if columns is None:
            columns = list(values)
            writer.writerow(columns)
        writer.writerow(
            [cell(value) if isinstance(value, str) else value for value in values.values()]
        )
    return out.getvalue()


def _values(row: StudentGrade, page: str, grades: ClassGrades) -> dict[str, str | int | float]:
    values: dict[str, str | int | float] = {"student": row.student.name, "id": row.student.id}
    grade = row.grade
    names = (
        "points", "of", "word", "lost_to_findings", "lost_to_requirements", "lost_against_model",
        "good_practice", "impossible", "risky", "awkward", "remarks", "accepted", "bars",
        "bars_of_playing", "seconds", "parts", "look_at",
    )  # fmt: skip
    values |= dict.fromkeys(names, "")
    if grade is not None:
        work = grade.submission
        values |= {
            "points": grade.points,
            "of": grades.rubric.total,
            "word": grades.rubric.word_for(grade.points),
            "lost_to_findings": grade.lost_to_findings / HUNDREDTHS,
            "lost_to_requirements": grade.lost_to_requirements / HUNDREDTHS,
            "lost_against_model": grade.reference_lost / HUNDREDTHS,
            "good_practice": (grade.earned - grade.ceiling) / HUNDREDTHS,
            "impossible": grade.counts[Severity.IMPOSSIBLE],
            "risky": grade.counts[Severity.RISKY],
            "awkward": grade.counts[Severity.AWKWARD],
            "remarks": grade.counts[Severity.REMARK],
            "accepted": len(grade.accepted),
            "bars": "" if work.bars is None else work.bars,
            "bars_of_playing": round(work.played_bars, 2),
            "seconds": round(work.seconds, 1),
            "parts": len(work.parts),
            "look_at": len(row.for_teacher),
        }
    return values | {
        "files": "; ".join(row.student.files),
        "page": page,
        "note": status_words(row),
    }
