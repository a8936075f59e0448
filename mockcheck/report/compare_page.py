"""What became of the findings as one page of HTML that needs nothing from outside."""

from __future__ import annotations

from collections.abc import Sequence

from mockcheck.model.finding import Finding
from mockcheck.model.words import place_words, printable
from mockcheck.plan.compare import Comparison, Kept
from mockcheck.report._standalone import render_html
from mockcheck.report.compare import (
    change_lines,
    headline,
    judged_words,
    kept_place,
    severity_words,
)

_Row = dict[str, str]


def render_compare_page(comparison: Comparison) -> str:
    """New findings first, then those still there, then those fixed; worst first in each.

    Every text from the files is escaped; the page asks the network for nothing and runs nothing.
    """
    kept = sorted(comparison.kept, key=lambda pair: _rank(pair.new))
    return render_html(
        "compare.html.j2",
        headline=headline(comparison),
        judged=judged_words(comparison),
        changes=change_lines(comparison),
        groups=(
            ("New", _rows(comparison.new)),
            ("Still there", [_kept_row(pair) for pair in kept]),
            ("Fixed", _rows(comparison.fixed)),
            ("Accepted by the brief", _rows(comparison.accepted)),
        ),
    )


def _rows(findings: Sequence[Finding]) -> list[_Row]:
    return [
        _row(finding, place_words(finding.start, finding.end), finding.accepted or "")
        for finding in sorted(findings, key=_rank)
    ]


def _kept_row(pair: Kept) -> _Row:
    return _row(pair.new, kept_place(pair), severity_words(pair))


def _row(finding: Finding, place: str, note: str) -> _Row:
    return {
        "severity": finding.severity.label,
        "part": printable(finding.part),
        "place": place,
        "message": printable(finding.message),
        "suggestion": printable(finding.suggestion),
        "check": finding.check,
        "note": printable(note),
        "id": printable(finding.id),
    }


def _rank(finding: Finding) -> tuple[int, float, int]:
    return -finding.severity, finding.start.time_s, finding.track
