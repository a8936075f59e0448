from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from mockcheck.grade.points import Grade, grade_submission, hundredths
from mockcheck.grade.reference import ReferenceLoss
from mockcheck.grade.rubric import Rubric, rubric_from
from mockcheck.grade.submission import Piece, Submission
from mockcheck.model.finding import Finding, Severity
from tests.grade.works import even_music, finding, location, piece, record, work

PLAIN: dict[str, Any] = {
    "findings": {
        "points": {"impossible": 8, "risky": 4, "awkward": 2, "remark": 1},
        "caps": {"check": 10, "family": 15, "all": 40},
    },
    "families": {"reading": 0.5, "realism": 1},
    "requirements": [],
    "bonuses": [],
}


def rubric(**changes: Any) -> Rubric:
    return rubric_from({**PLAIN, **changes}, "r")


def grade(*findings: Finding, bars: int = 25, **changes: Any) -> Grade:
    return grade_submission(work(*findings, bars=bars), rubric(**changes))


def test_a_piece_without_a_fault_has_all_points() -> None:
    assert grade().points == 100


@pytest.mark.parametrize(
    ("severity", "lost"),
    [
        (Severity.IMPOSSIBLE, 8),
        (Severity.RISKY, 4),
        (Severity.AWKWARD, 2),
        (Severity.REMARK, 1),
    ],
)
def test_a_finding_costs_what_its_severity_says(severity: Severity, lost: float) -> None:
    assert grade(finding(severity=severity)).points == 100 - lost


def test_families_weigh_as_the_rubric_says() -> None:
    assert grade(finding("odd-tuplet", Severity.AWKWARD)).points == 99


def test_twice_the_length_with_twice_the_faults_costs_the_same() -> None:
    once = grade(finding(bar=3), finding("bow-runs-out", bar=9))
    twice = grade(
        *(finding(check, bar=b) for check, b in (("run-too-fast", 3), ("run-too-fast", 33))),
        *(finding("bow-runs-out", bar=b) for b in (9, 39)),
        bars=50,
    )
    assert once.points == twice.points


def test_a_sketch_is_reckoned_as_long_as_the_rubric_says() -> None:
    table = PLAIN["findings"] | {"shortest_bars": 50}
    for bars in (3, 8, 12):
        assert grade(finding(), bars=bars, findings=table).points == 92


def test_a_remark_on_the_whole_piece_costs_the_same_at_any_length() -> None:
    for bars in (20, 40, 80):
        whole = finding("dynamics-never-change", Severity.REMARK, end=location(bars + 1))
        assert grade(whole, bars=bars).points == 99


def test_a_guess_costs_less_and_is_marked() -> None:
    (charge,) = grade(finding(confidence=0.49)).charges
    assert (charge.lost, charge.is_doubtful) == (200, True)
    (charge,) = grade(finding(confidence=0.5)).charges
    assert (charge.lost, charge.is_doubtful) == (400, False)


def test_what_was_accepted_is_free_and_listed() -> None:
    graded = grade(finding(accepted="meant"))
    assert graded.points == 100
    assert [mark.finding.accepted for mark in graded.accepted] == ["meant"]


def test_one_mistake_over_and_over_is_capped() -> None:
    graded = grade(*(finding(bar=bar) for bar in range(1, 21)))
    assert graded.points == 90
    assert [c.lost for c in graded.charges] == [400, 400, 200, *[0] * 17]
    assert [c.limit for c in graded.charges] == ["", "", *["check"] * 18]


def test_a_cap_spares_the_cheapest() -> None:
    rows = [finding(bar=1), finding(bar=2), finding(bar=3, severity=Severity.IMPOSSIBLE)]
    assert [c.lost for c in grade(*rows).charges] == [800, 200, 0]


def test_a_family_is_capped_over_its_checks() -> None:
    rows = [finding(bar=bar) for bar in (1, 2, 3)]
    rows += [finding("leap-too-fast", bar=bar) for bar in (5, 6, 7)]
    graded = grade(*rows)
    assert graded.points == 85
    assert {c.limit for c in graded.charges} >= {"check", "family"}


def test_all_findings_are_capped() -> None:
    checks = ["run-too-fast", "bow-runs-out", "note-above-range", "chord-out-of-reach"]
    checks += ["no-time-for-change", "slides-overused"]
    rows = [finding(c, bar=2 * i + j) for i, c in enumerate(checks, 1) for j in (0, 1)]
    graded = grade(*rows)
    assert graded.points == 60
    assert {c.limit for c in graded.charges} == {"", "all"}


def test_two_checks_on_one_passage_are_one_mistake() -> None:
    run = finding(severity=Severity.IMPOSSIBLE, bar=4)
    tuplet = finding("odd-tuplet", Severity.AWKWARD, bar=4)
    graded = grade(run, tuplet)
    assert [c.lost for c in graded.charges] == [800, 0]
    assert graded.charges[1].dearer == graded.charges[0].mark
    part_of_it = PLAIN["findings"] | {"same_place_factor": 0.5}
    assert [c.lost for c in grade(run, tuplet, findings=part_of_it).charges] == [800, 50]


@pytest.mark.parametrize(
    "elsewhere", [{"part": "Viola"}, {"bar": 5}, {"end": location(9)}], ids=str
)
def test_another_passage_is_another_mistake(elsewhere: dict[str, Any]) -> None:
    run = finding(severity=Severity.IMPOSSIBLE, bar=4)
    other: dict[str, Any] = {"bar": 4, **elsewhere}
    graded = grade(run, finding("odd-tuplet", Severity.AWKWARD, **other))
    assert [c.lost for c in graded.charges] == [800, 100]


def test_one_check_twice_in_one_bar_is_two_mistakes() -> None:
    rows = [finding(bar=4, id=name) for name in "ab"]
    assert [c.lost for c in grade(*rows).charges] == [400, 400]


def test_a_requirement_costs_the_share_that_is_missing() -> None:
    asked = [{"kind": "bars", "at_least": 50, "points": 20}]
    graded = grade(requirements=asked)
    assert graded.points == 90
    assert graded.lost_to_requirements == 1000


def test_good_practice_earns_points_back_but_never_more_than_all() -> None:
    earned = [{"kind": "parts", "at_least": 4, "points": 3}]
    assert grade(finding(), bonuses=earned).points == 99
    above = grade(bonuses=earned)
    assert (above.points, above.ceiling) == (100, 300)


def test_a_sketch_earns_nothing_for_good_practice() -> None:
    rules: dict[str, Any] = {
        "requirements": [{"kind": "bars", "at_least": 10, "points": 20}],
        "bonuses": [{"kind": "parts", "at_least": 4, "points": 3}],
    }
    assert grade(bars=5, **rules).points == 90
    assert grade(bars=10, **rules).unbounded == 10300


@pytest.mark.parametrize("bars", [1, 2, 4, 7])
def test_a_flawless_sketch_is_worth_no_more_than_its_share_of_a_piece(bars: int) -> None:
    rules = rubric_from({}, "r")
    alone = Piece("a", record(), even_music(bars, {"Violin": "violin"}))
    assert grade_submission(Submission("Ada", (alone,)), rules).points <= 100 * bars / 8
    assert grade_submission(work(bars=bars), rules).points <= 100 * bars / 8


def test_two_notes_far_apart_are_no_piece() -> None:
    music = even_music(30, {"Violin": "violin"})
    part = music.parts[0]
    ends = [0, len(part.pitch) - 1]
    columns = ("pitch", "onset_quarters", "release_quarters", "onset_s", "bar")
    thin = replace(part, **{name: getattr(part, name)[ends] for name in columns})
    alone = Piece("a", record(), replace(music, parts=(thin,)))
    assert grade_submission(Submission("Ada", (alone,)), rubric_from({}, "r")).points < 20


def test_points_do_not_fall_below_nothing() -> None:
    graded = grade(requirements=[{"kind": "bars", "at_least": 1000, "points": 500}])
    assert graded.points == 0
    assert graded.unbounded + graded.floor == 0


def test_the_model_costs_no_more_than_its_cap() -> None:
    losses = [ReferenceLoss("one", 3000), ReferenceLoss("two", 3000)]
    assert grade_submission(work(), rubric(), losses).points == 60


def test_files_of_one_student_are_one_piece_of_work() -> None:
    two = Submission("Ada", (piece(finding(), name="a"), piece(finding(), name="b")))
    assert grade_submission(two, rubric()).points == grade(finding()).points


ROWS = st.lists(
    st.tuples(
        st.sampled_from(["run-too-fast", "leap-too-fast", "odd-tuplet", "note-above-range"]),
        st.sampled_from(list(Severity)),
        st.integers(1, 25),
        st.sampled_from(["Violin 1", "Viola"]),
        st.sampled_from([0.3, 0.9]),
    ),
    max_size=30,
)


@given(ROWS, st.randoms())
def test_every_account_adds_up_and_no_order_matters(rows: list[Any], chance: Any) -> None:
    found = [
        finding(check, severity, bar, part, confidence=confidence, id=f"{row}")
        for row, (check, severity, bar, part, confidence) in enumerate(rows)
    ]
    rules = rubric_from({}, "r")
    graded = grade_submission(work(*found), rules)
    lines = [-c.lost for c in graded.charges]
    lines += [-r.points for r in graded.requirements] + [r.points for r in graded.bonuses]
    total = hundredths(rules.total)
    assert total + sum(lines) + graded.floor - graded.ceiling == hundredths(graded.points)
    assert all(0 <= c.lost <= c.price for c in graded.charges)
    assert 0 <= graded.points <= rules.total
    chance.shuffle(found)
    assert grade_submission(work(*found), rules).points == graded.points
