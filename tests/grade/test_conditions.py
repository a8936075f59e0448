from typing import Any

import pytest
from pydantic import TypeAdapter, ValidationError

from mockcheck.grade.conditions import Condition, Verdict, kinds_of_condition
from mockcheck.grade.submission import Piece, Submission
from mockcheck.model.finding import Severity
from tests.grade.works import even_music, finding, record, work

KINDS: TypeAdapter[Any] = TypeAdapter(Condition)


def judge(submission: Submission, **values: Any) -> Verdict:
    verdict: Verdict = KINDS.validate_python({"points": 5, **values}).judge(submission)
    return verdict


@pytest.mark.parametrize(
    ("values", "share"),
    [
        ({"kind": "bars", "at_least": 25}, 1.0),
        ({"kind": "bars", "at_least": 50}, 0.5),
        ({"kind": "bars", "at_most": 20}, 0.8),
        ({"kind": "played_bars", "at_least": 100}, 1.0),
        ({"kind": "played_bars", "at_least": 400}, 0.25),
        ({"kind": "length_s", "at_least": 50, "at_most": 60}, 1.0),
        ({"kind": "length_s", "at_least": 100}, 0.5),
        ({"kind": "parts", "at_least": 4, "at_most": 4}, 1.0),
        ({"kind": "parts", "at_least": 5}, 0.8),
        ({"kind": "articulations", "at_least": 2}, 1.0),
        ({"kind": "articulations", "at_least": 4}, 0.5),
        ({"kind": "articulations", "at_least": 2, "each_s": 10}, 0.5),
        ({"kind": "instruments", "names": ["violin", "viola"]}, 1.0),
        ({"kind": "instruments", "names": ["violin", "double bass"]}, 0.5),
        ({"kind": "headroom", "at_least": 1.0}, 1.0),
        ({"kind": "headroom", "at_least": 1.25}, 0.8),
        ({"kind": "within_range"}, 1.0),
        ({"kind": "dynamics"}, 1.0),
        ({"kind": "no_findings", "family": "bow"}, 1.0),
    ],
)
def test_the_share_that_is_met(values: dict[str, Any], share: float) -> None:
    assert judge(work(), **values).share == pytest.approx(share)


@pytest.mark.parametrize(
    ("values", "check", "severity"),
    [
        ({"kind": "within_range"}, "note-below-open-string", Severity.IMPOSSIBLE),
        ({"kind": "dynamics"}, "dynamics-never-change", Severity.REMARK),
        ({"kind": "no_findings", "family": "bow"}, "bow-runs-out", Severity.REMARK),
        ({"kind": "no_findings", "check": "odd-tuplet"}, "odd-tuplet", Severity.AWKWARD),
    ],
)
def test_findings_that_must_not_be_there(
    values: dict[str, Any], check: str, severity: Severity
) -> None:
    one = finding(check, severity)
    verdict = judge(work(one), **values)
    assert verdict.share == 0
    assert [mark.finding for mark in verdict.marks] == [one]
    assert judge(work(one), at_most=1, **values).share == 1
    assert judge(work(finding(check, severity, accepted="meant")), **values).share == 1
    assert judge(work(finding("run-too-fast")), **values).share == 1


def test_a_milder_finding_than_asked_lets_it_pass() -> None:
    high = finding("note-above-range", Severity.AWKWARD)
    assert judge(work(high), kind="within_range", severity="risky").share == 1
    assert judge(work(high), kind="within_range", severity="awkward").share == 0


def test_what_the_file_does_not_tell_stays_open() -> None:
    blind = Submission(
        "Ada", (Piece("a", record(crashed=("dynamics-never-change",)), even_music()),)
    )
    assert judge(blind, kind="dynamics").share is None
    silent = Submission("Ada", (Piece("a", record(headroom=None), even_music()),))
    assert judge(silent, kind="headroom", at_least=1).share is None


@pytest.mark.parametrize(
    "values",
    [
        {"kind": "bars"},
        {"kind": "bars", "at_least": 9, "at_most": 8},
        {"kind": "instruments", "names": ["kazoo"]},
        {"kind": "no_findings"},
        {"kind": "no_findings", "check": "no-such-check"},
        {"kind": "no_findings", "check": "odd-tuplet", "family": "reading"},
        {"kind": "dynamics", "points": 0},
        {"kind": "dynamics", "spelt": "wrong"},
        {"kind": "stars"},
    ],
)
def test_a_condition_that_means_nothing_is_refused(values: dict[str, Any]) -> None:
    with pytest.raises(ValidationError):
        KINDS.validate_python({"points": 5, **values})


def test_the_list_of_kinds_is_whole() -> None:
    schema = KINDS.json_schema()
    assert sorted(kinds_of_condition()) == sorted(schema["discriminator"]["mapping"])
