import tomllib
from pathlib import Path
from typing import Any

import pytest

from mockcheck.checks._registry import all_checks
from mockcheck.model.finding import Finding
from mockcheck.model.review import Review
from mockcheck.pipeline import review

DEMO = Path(__file__).parent.parent / "fixtures" / "demo"
CASE = tomllib.loads((DEMO / "case.toml").read_text(encoding="utf-8"))
PROBLEMS = CASE["problem"]


@pytest.fixture(scope="module")
def reviewed() -> Review:
    return review(DEMO / "harbour_at_dawn.mid", DEMO / "brief.toml")


def is_at(finding: Finding, problem: dict[str, Any]) -> bool:
    assert finding.start.bar is not None
    assert finding.end.bar is not None
    return (
        (finding.check, finding.part) == (problem["kind"], problem["part"])
        # A change begins with the last note of the old way, one bar earlier at most.
        and problem["bar"] - 1 <= finding.start.bar <= problem["bar"]
        and finding.end.bar >= problem["end_bar"]
    )


@pytest.mark.parametrize("problem", PROBLEMS, ids=lambda row: f"{row['part']} {row['kind']}")
def test_every_documented_problem_is_found_as_grave_as_documented(
    reviewed: Review, problem: dict[str, Any]
) -> None:
    found = [finding for finding in reviewed.findings if is_at(finding, problem)]
    assert [finding.severity.label for finding in found] == [problem["severity"]]


def test_nothing_else_is_found(reviewed: Review) -> None:
    unexplained = [
        (finding.check, finding.part, finding.start.bar)
        for finding in reviewed.findings
        if not any(is_at(finding, problem) for problem in PROBLEMS)
    ]
    assert unexplained == []


def test_a_check_looks_for_every_documented_problem() -> None:
    assert {row["kind"] for row in CASE["problem"]} <= set(all_checks())
