from dataclasses import replace

from mockcheck.model.finding import Severity
from mockcheck.plots._columns import axis_for
from mockcheck.plots._marks import Mark, marks_of
from tests.report.synthetic import BAR, TPQ, VIOLIN, finding_of, part_of

PART = part_of("Violin 1", VIOLIN, [(60, 0, 100 * BAR)])
AXIS = axis_for([PART])


def marks(*rows: tuple[Severity, int, int], nearest: float = 2.0) -> tuple[Mark, ...]:
    findings = [
        finding_of(PART, severity, (bar - 1) * BAR, (bar - 1 + length) * BAR)
        for severity, bar, length in rows
    ]
    return marks_of(AXIS, PART, findings, nearest)


def test_marks_lie_where_the_findings_are_and_the_worst_comes_first() -> None:
    found = marks((Severity.REMARK, 3, 1), (Severity.RISKY, 50, 4), (Severity.RISKY, 20, 1))
    assert [(m.severity, m.left, m.right) for m in found] == [
        (Severity.RISKY, 20.0, 21.0),
        (Severity.RISKY, 50.0, 54.0),
        (Severity.REMARK, 3.0, 4.0),
    ]


def test_neighbours_of_one_severity_join_and_none_is_lost() -> None:
    found = marks((Severity.RISKY, 10, 1), (Severity.RISKY, 11, 4), (Severity.RISKY, 12, 1))
    assert [(m.left, m.right, len(m.findings)) for m in found] == [
        (10.0, 15.0, 2),
        (12.0, 13.0, 1),
    ]


def test_severities_never_join() -> None:
    assert len(marks((Severity.RISKY, 10, 1), (Severity.AWKWARD, 10, 1))) == 2


def test_accepted_findings_stay_apart_and_come_last() -> None:
    open_one = finding_of(PART, Severity.REMARK, 0, TPQ)
    accepted = replace(finding_of(PART, Severity.IMPOSSIBLE, 0, TPQ), accepted="known")
    found = marks_of(AXIS, PART, [accepted, open_one], 2.0)
    assert [mark.is_accepted for mark in found] == [False, True]
