"""Findings as marks along the time axis; those too near to tell apart become one."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from mockcheck.model.finding import Finding, Severity
from mockcheck.model.played import PlayedPart
from mockcheck.plots._columns import Axis


@dataclass(frozen=True)
class Mark:
    """One or more findings of one severity at one place.

    Parameters
    ----------
    left, right
        From the first finding's start to the last one's end, on the axis.
    findings
        In time order, at least one, all accepted or none.
    """

    left: float
    right: float
    severity: Severity
    findings: tuple[Finding, ...]

    @property
    def is_accepted(self) -> bool:
        """True when the brief accepts them."""
        return self.findings[0].accepted is not None


def marks_of(
    axis: Axis, part: PlayedPart, findings: Sequence[Finding], nearest: float
) -> tuple[Mark, ...]:
    """Marks of a part's findings, worst severity first, then in time.

    `nearest` is the least distance, on the axis, between the left edges of two marks of one
    severity; findings that begin nearer join the mark before.
    """
    kinds = [(severity, False) for severity in sorted(Severity, reverse=True)]
    kinds += [(severity, True) for severity, _ in kinds]
    marks: list[Mark] = []
    for severity, is_accepted in kinds:
        rows = [f for f in findings if _is_of_kind(f, severity, is_accepted)]
        marks += _joined(axis, part, rows, nearest)
    return tuple(marks)


def _is_of_kind(finding: Finding, severity: Severity, is_accepted: bool) -> bool:
    return finding.severity is severity and (finding.accepted is not None) == is_accepted


def _joined(
    axis: Axis, part: PlayedPart, findings: Iterable[Finding], nearest: float
) -> list[Mark]:
    in_time = sorted(findings, key=lambda f: (f.start.tick, f.end.tick))
    lefts, rights = (
        axis.positions(part.timeline, np.array(ticks, np.int64)).tolist()
        for ticks in ([f.start.tick for f in in_time], [f.end.tick for f in in_time])
    )
    groups: list[list[tuple[Finding, float, float]]] = []
    for row in zip(in_time, lefts, rights, strict=True):
        if groups and row[1] < groups[-1][0][1] + nearest:
            groups[-1].append(row)
        else:
            groups.append([row])
    return [
        Mark(
            left=group[0][1],
            right=max(end for _, *ends in group for end in ends),
            severity=group[0][0].severity,
            findings=tuple(finding for finding, _, _ in group),
        )
        for group in groups
    ]
