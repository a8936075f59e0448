from mockcheck.grade.gains import most_useful
from mockcheck.grade.points import grade_submission
from mockcheck.grade.reference import ReferenceLoss
from mockcheck.model.finding import Finding, Severity
from tests.grade.test_points import rubric
from tests.grade.works import finding, work


def gains(*findings: Finding, **changes: object) -> list[tuple[str, int]]:
    rules = rubric(**changes)
    graded = grade_submission(work(*findings), rules)
    return [(gain.check or gain.what, gain.points) for gain in most_useful(graded, rules)]


def test_the_greatest_gain_comes_first_and_three_are_named() -> None:
    rows = [
        finding("bow-runs-out", Severity.REMARK, 1),
        finding("note-above-range", Severity.IMPOSSIBLE, 3),
        *(finding("run-too-fast", bar=bar) for bar in (5, 7)),
        finding("slides-overused", Severity.AWKWARD, 9),
    ]
    assert gains(*rows) == [
        ("note-above-range", 800),
        ("run-too-fast", 800),
        ("slides-overused", 200),
    ]


def test_beyond_a_family_cap_only_what_is_not_lost_elsewhere_is_gained() -> None:
    fast = [finding(bar=bar) for bar in (1, 2, 3)]
    leaps = [finding("leap-too-fast", bar=bar) for bar in (5, 6, 7)]
    # Each check alone is capped at 10, both together at 15.
    assert gains(*fast, *leaps) == [("leap-too-fast", 500), ("run-too-fast", 500)]


def test_a_requirement_that_is_met_by_the_change_is_in_the_gain() -> None:
    asked = [{"kind": "within_range", "points": 4}]
    assert gains(finding("note-above-range"), requirements=asked) == [("note-above-range", 800)]


def test_a_requirement_without_findings_is_a_change_of_its_own() -> None:
    asked = [{"kind": "bars", "at_least": 50, "points": 10}]
    assert gains(requirements=asked) == [("The piece has at least 50 bars", 500)]


def test_differences_from_the_model_are_changes_too() -> None:
    rules = rubric()
    losses = [ReferenceLoss("Viola: 3 notes missing", 300)]
    graded = grade_submission(work(), rules, losses)
    assert [gain.what for gain in most_useful(graded, rules, losses)] == ["Viola: 3 notes missing"]


def test_nothing_to_gain_is_nothing_to_do() -> None:
    assert gains() == []
    assert gains(finding(accepted="meant")) == []


def test_beyond_the_cap_of_the_model_one_difference_may_bring_nothing() -> None:
    rules = rubric()
    losses = [ReferenceLoss("one", 3000), ReferenceLoss("two", 2500), ReferenceLoss("three", 600)]
    graded = grade_submission(work(), rules, losses)
    assert graded.reference_lost == 4000
    gains = [(gain.what, gain.points) for gain in most_useful(graded, rules, losses)]
    assert gains == [("one", 900), ("two", 400)]
