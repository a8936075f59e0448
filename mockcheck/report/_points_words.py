"""Points in words, the same on a student's page, on the sheet and in the terminal."""

from __future__ import annotations

from mockcheck.checks._registry import all_checks
from mockcheck.grade.points import HUNDREDTHS, Charge, Grade
from mockcheck.grade.rubric import Rubric
from mockcheck.grade.whole_class import StudentGrade
from mockcheck.model.words import count_of, printable

_LIMIT_WORDS = {
    "check": "limit of one kind of mistake",
    "family": "limit of the family {family}",
    "all": "limit of all findings",
}


def check_words(check: str) -> tuple[str, str]:
    """What is wrong by a check, and why a player minds; only its name where it is gone."""
    declared = all_checks().get(check)
    if declared is None:
        return check, ""
    return declared.title, declared.explanation().get("Why a player minds", "")


def points_text(hundredths: int) -> str:
    """'4.69', with two digits so that a column adds up."""
    return f"{hundredths / HUNDREDTHS:.2f}"


def loss_text(hundredths: int) -> str:
    """'-4.69' with a true minus sign; '0' for nothing."""
    return f"\N{MINUS SIGN}{points_text(hundredths)}" if hundredths else "0"


def gain_text(hundredths: int) -> str:
    """'+4.69'; '0' for nothing."""
    return f"+{points_text(hundredths)}" if hundredths else "0"


def headline(grade: Grade, rubric: Rubric) -> str:
    """'71.31 of 100 points', and the teacher's word for it."""
    word = rubric.word_for(grade.points)
    said = f"{grade.points:.2f} of {rubric.total:g} points"
    return f"{said}: {word}" if word else said


def charge_note(charge: Charge, rubric: Rubric) -> str:
    """Why a finding costs less than others of its severity; '' where it costs the same."""
    notes = []
    if charge.is_doubtful:
        share = f"{100 * rubric.findings.doubt.factor:g} %"
        notes.append(f"a guess, so only {share}; your teacher looks at it")
    if charge.dearer is not None:
        factor = rubric.findings.same_place_factor
        share = f"only {100 * factor:g} %" if factor else "free"
        notes.append(f"the same passage as {charge.dearer.finding.check}, so {share}")
    if charge.limit:
        limit = _LIMIT_WORDS[charge.limit].format(family=charge.mark.finding.family)
        by_itself = f"{limit}; by itself {points_text(charge.price)}"
        notes.append(by_itself if charge.lost else f"free: {limit}")
    return "; ".join(notes)


def length_words(grade: Grade) -> str:
    """'24 bars, 96 bars of playing in 4 parts'."""
    work = grade.submission
    bars = f"{count_of(work.bars, 'bar')}, " if work.bars is not None else ""
    parts = count_of(len(work.parts), "part")
    return f"{bars}{work.played_bars:.0f} bars of playing in {parts}"


def status_words(row: StudentGrade) -> str:
    """What is unusual about a student's files; '' for nothing."""
    notes = []
    if not row.student.files:
        notes.append("no file")
    if not row.student.is_listed:
        notes.append("not on the roster")
    notes += [printable(fault.reason) for fault in row.faults]
    return "; ".join(notes)
