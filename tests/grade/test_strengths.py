from mockcheck.grade.points import grade_submission
from mockcheck.grade.reference import ReferenceReport
from mockcheck.grade.rubric import read_rubric
from mockcheck.grade.strengths import strengths
from mockcheck.model.finding import Finding, Severity
from tests.grade.works import finding, work


def said(*findings: Finding, report: ReferenceReport | None = None) -> str:
    return " ".join(strengths(grade_submission(work(*findings), read_rubric(None)), report))


def test_nothing_found_is_said_so() -> None:
    assert "Nothing was found at all" in said()


def test_remarks_stand_in_nobodys_way() -> None:
    assert "only remarks" in said(finding("bow-runs-out", Severity.REMARK))
    assert "only remarks" not in said(finding())


def test_parts_and_families_without_a_finding_are_named() -> None:
    words = said(finding(part="Viola"), finding("note-above-range", part="Cello"))
    assert "Nothing was found in Violin 1, Violin 2." in words
    assert "Every note lies in the range" not in words
    assert "fits the bow" in words


def test_nothing_is_praised_that_was_found() -> None:
    for check, words in (
        ("note-above-range", "range of its instrument"),
        ("chord-out-of-reach", "under the hand"),
        ("run-too-fast", "too fast for hand"),
        ("bow-runs-out", "fits the bow"),
        ("slides-overused", "Slides are"),
        ("no-time-for-change", "time for every change"),
        ("odd-tuplet", "read well"),
        ("pedal-on-strings", "behaves like players"),
    ):
        assert words not in said(finding(check)), check
        assert words not in said(finding(check, accepted="meant"), finding("trill-too-wide"))


def test_a_model_that_was_followed_is_a_strength() -> None:
    report = ReferenceReport(200, 190, (), (), (), (), (), (), 0)
    assert "95 % of the model's notes" in said(finding(), report=report)
