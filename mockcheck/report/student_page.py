"""One student's page: the points, where each one went, and what to do next.

It tells a student about their own work alone: nothing on it comes from anybody else's.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

from mockcheck.grade.gains import Gain
from mockcheck.grade.points import Charge, Grade, Judged, hundredths
from mockcheck.grade.reference import KINDS, ReferenceReport, shift_words
from mockcheck.grade.rubric import Rubric
from mockcheck.grade.strengths import strengths
from mockcheck.grade.submission import Mark
from mockcheck.grade.whole_class import StudentGrade
from mockcheck.model.finding import Severity
from mockcheck.model.words import bars_words, count_of, place_words, printable
from mockcheck.report._points_words import (
    charge_note,
    check_words,
    gain_text,
    headline,
    length_words,
    loss_text,
    points_text,
)
from mockcheck.report._standalone import render_standalone

_MOST_PLACES = 6


@dataclass(frozen=True)
class _Row:
    """One finding, ready for the template."""

    severity: str
    part: str
    place: str
    message: str
    suggestion: str
    lost: str
    note: str
    id: str


@dataclass(frozen=True)
class _Group:
    """The findings of one check; `free` of them cost nothing more once a cap was reached."""

    check: str
    title: str
    why: str
    lost: str
    rows: tuple[_Row, ...]
    free: int


def render_student_page(row: StudentGrade, rubric: Rubric) -> str:
    """The page of one student who has a grade."""
    grade = row.grade
    assert grade is not None, "a page is made of a grade"
    return render_standalone(
        "student.html.j2",
        ("review.css", "grade.css"),
        "",
        student=printable(row.student.name),
        files=[printable(piece.name) for piece in grade.submission.pieces],
        headline=headline(grade, rubric),
        length=length_words(grade),
        account=account(grade, rubric),
        gains=[_gain(gain) for gain in row.gains],
        strengths=strengths(grade, row.reference),
        groups=_groups(grade, rubric),
        prices=_prices(grade, rubric),
        scale=f"{grade.scale:.2f}",
        per_bars=f"{rubric.findings.per_bars:g}",
        requirements=[_judged(item, loss_text) for item in grade.requirements],
        bonuses=[_judged(item, gain_text) for item in grade.bonuses],
        reference=_reference(row.reference, grade, rubric) if row.reference else None,
        reference_piece=printable(row.reference_piece),
        accepted=[_accepted(mark, grade) for mark in grade.accepted],
        for_teacher=row.for_teacher,
    )


def account(grade: Grade, rubric: Rubric) -> list[tuple[str, str]]:
    """The lines that add up to the points."""
    lines = [
        ("To begin with", points_text(grade.total)),
        (f"{count_of(len(grade.charges), 'finding')}", loss_text(grade.lost_to_findings)),
        ("What the piece had to have", loss_text(grade.lost_to_requirements)),
    ]
    if grade.reference:
        lines.append(("Against the model", loss_text(grade.reference_lost)))
    lines.append(("Good practice", gain_text(grade.earned)))
    if grade.ceiling:
        lines.append((f"Not above {rubric.total:g}", loss_text(grade.ceiling)))
    if grade.floor:
        lines.append(("Not below 0", gain_text(grade.floor)))
    return [*lines, ("Points", f"{grade.points:.2f}")]


def _groups(grade: Grade, rubric: Rubric) -> list[_Group]:
    """Findings by check, the dearest check first; inside a group as they were charged."""
    order: dict[str, int] = {}
    for charge in grade.charges:
        check = charge.mark.finding.check
        order[check] = order.get(check, 0) + charge.lost
    ranked = sorted(
        grade.charges,
        key=lambda c: (-order[c.mark.finding.check], c.mark.finding.check),
    )
    return [
        _group(check, list(charges), grade, rubric)
        for check, charges in groupby(ranked, key=lambda c: c.mark.finding.check)
    ]


def _group(check: str, charges: Sequence[Charge], grade: Grade, rubric: Rubric) -> _Group:
    title, why = check_words(check)
    return _Group(
        check=check,
        title=title,
        why=why,
        lost=loss_text(sum(charge.lost for charge in charges)),
        rows=tuple(_row(charge, grade, rubric) for charge in charges),
        free=sum(charge.lost == 0 and charge.price > 0 for charge in charges),
    )


def _row(charge: Charge, grade: Grade, rubric: Rubric) -> _Row:
    finding = charge.mark.finding
    return _Row(
        severity=finding.severity.label,
        part=printable(finding.part),
        place=_place(charge.mark, grade),
        message=printable(finding.message),
        suggestion=printable(finding.suggestion),
        lost=loss_text(charge.lost),
        note=charge_note(charge, rubric),
        id=printable(finding.id),
    )


def _place(mark: Mark, grade: Grade) -> str:
    where = place_words(mark.finding.start, mark.finding.end)
    return f"{printable(mark.piece)}: {where}" if len(grade.submission.pieces) > 1 else where


def _accepted(mark: Mark, grade: Grade) -> tuple[str, str, str]:
    finding = mark.finding
    where = f"{printable(finding.part)}, {_place(mark, grade)}"
    return where, printable(finding.message), printable(finding.accepted or "")


def _prices(grade: Grade, rubric: Rubric) -> str:
    """'impossible 5.81, risky 2.91, ...': what a finding costs in a piece of this length."""
    points = rubric.findings.points
    return ", ".join(
        f"{severity.label} {points_text(hundredths(points.of(severity) * grade.scale))}"
        for severity in sorted(Severity, reverse=True)
    )


def _judged(item: Judged, text: Callable[[int], str]) -> dict[str, str]:
    found = printable(item.verdict.found)
    return {"wanted": item.wanted, "found": found, "points": text(item.points)}


def _gain(gain: Gain) -> dict[str, str]:
    if not gain.check:
        return {"what": gain.what, "points": gain_text(gain.points), "where": "", "how": ""}
    title, _ = check_words(gain.check)
    first = gain.marks[0].finding
    return {
        "what": title,
        "points": gain_text(gain.points),
        "where": "; ".join(_where(gain.marks)),
        "how": printable(first.suggestion),
    }


def _where(marks: Sequence[Mark]) -> Iterator[str]:
    """'Viola: bars 3, 7' for each part, so that a student can go straight there."""
    by_part = sorted(marks, key=lambda mark: (mark.piece, mark.finding.part))
    several = len({mark.piece for mark in marks}) > 1
    for (piece, part), rows in groupby(by_part, key=lambda m: (m.piece, m.finding.part)):
        found = [mark.finding for mark in rows]
        bars = [finding.start.bar for finding in found if finding.start.bar is not None]
        words = bars_words(bars, _MOST_PLACES) if bars else count_of(len(found), "place")
        yield f"{printable(piece) + ', ' if several else ''}{printable(part)}: {words}"


def _reference(report: ReferenceReport, grade: Grade, rubric: Rubric) -> dict[str, object]:
    counts = ", ".join(f"{kind} {report.count(kind):,}" for kind in KINDS)
    notes = [
        f"{printable(p)} stands {shift_words(n)} than the model." for p, n in report.transposed
    ]
    notes += [f"The model's {printable(part)} is nowhere in the piece." for part in report.absent]
    notes += [f"{printable(part)} has no music of the model." for part in report.added]
    listed = sum(loss.price for loss in grade.reference)
    return {
        "summary": (
            f"{report.same:,} of {count_of(report.notes, 'note')} of the model are there, in pitch"
            f" and time. Notes that differ: {counts}."
        ),
        "notes": notes,
        "losses": [(printable(loss.words), loss_text(loss.price)) for loss in grade.reference],
        "spared": gain_text(listed - grade.reference_lost) if listed > grade.reference_lost else "",
        "most": f"{rubric.reference.most:g}",
    }
