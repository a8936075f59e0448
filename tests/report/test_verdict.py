from dataclasses import replace

from mockcheck.model.finding import CheckOutcome, Outcome, Severity
from mockcheck.model.review import Review
from mockcheck.report._verdict import counts_line, verdict
from tests.report.synthetic import BAR, TPQ, VIOLA, VIOLIN, finding_of, part_of, review_of

VIOLINS = part_of("Violin 1", VIOLIN, [(60, 0, 40 * BAR)])
VIOLAS = part_of("Viola", VIOLA, [(60, 0, 40 * BAR)], index=1)


def review_with(*rows: tuple[str, Severity, int, float]) -> Review:
    parts = {part.name: part for part in (VIOLINS, VIOLAS)}
    findings = [
        finding_of(
            parts[name], severity, (bar - 1) * BAR, (bar - 1) * BAR + TPQ, confidence=confidence
        )
        for name, severity, bar, confidence in rows
    ]
    return review_of([VIOLINS, VIOLAS], findings)


def test_a_clean_review_is_ready() -> None:
    assert verdict(review_with()) == "Ready: nothing stands in the way."


def test_remarks_do_not_stand_in_the_way() -> None:
    review = review_with(("Viola", Severity.REMARK, 4, 0.9))
    assert verdict(review) == "Ready: nothing stands in the way."


def test_silence_of_a_check_that_could_not_run_is_not_praise() -> None:
    for outcome in (Outcome.SKIPPED, Outcome.CRASHED):
        review = replace(review_with(), outcomes=(CheckOutcome("run-too-fast", 0, outcome, "x"),))
        assert verdict(review).startswith("Ready as far as could be checked")
    ran = replace(review_with(), outcomes=(CheckOutcome("run-too-fast", 0, Outcome.RAN),))
    assert verdict(ran) == "Ready: nothing stands in the way."


def test_few_places_of_one_part_are_named_by_bar() -> None:
    review = review_with(
        ("Viola", Severity.RISKY, 17, 0.9),
        ("Viola", Severity.RISKY, 4, 0.9),
        ("Violin 1", Severity.AWKWARD, 1, 0.9),
    )
    assert verdict(review) == "Ready but for 2 risky places in Viola, bars 4, 17."


def test_the_worst_decides_and_its_places_and_parts_are_counted() -> None:
    rows = [("Violin 1", Severity.IMPOSSIBLE, bar, 0.9) for bar in (1, 2, 3)]
    review = review_with(*rows, ("Viola", Severity.IMPOSSIBLE, 9, 0.9))
    assert verdict(review) == "Not ready: 4 impossible places in 2 parts."
    assert verdict(review_with(rows[0])) == "Not ready: 1 impossible place in Violin 1, bar 1."
    many = [("Violin 1", Severity.IMPOSSIBLE, bar, 0.9) for bar in range(1, 1205)]
    assert verdict(review_with(*many)) == "Not ready: 1,204 impossible places in Violin 1."


def test_a_verdict_on_guesses_says_so() -> None:
    sure = ("Violin 1", Severity.IMPOSSIBLE, 1, 0.7)
    guess = ("Viola", Severity.IMPOSSIBLE, 2, 0.69)
    assert verdict(review_with(sure, guess)).endswith("in 2 parts (1 resting on a guess).")
    assert verdict(review_with(guess)).endswith("in Viola, bar 2, resting on a guess.")
    assert verdict(review_with(guess, guess)).endswith(", all resting on guesses.")
    assert "guess" not in verdict(review_with(sure))


def test_counts_go_from_the_worst_to_remarks_and_leave_accepted_ones_out() -> None:
    review = review_with(
        ("Viola", Severity.REMARK, 1, 0.9),
        ("Viola", Severity.REMARK, 2, 0.9),
        ("Viola", Severity.IMPOSSIBLE, 3, 0.9),
        ("Viola", Severity.RISKY, 4, 0.9),
    )
    assert counts_line(review) == "1 impossible, 1 risky, 2 remarks"
    accepted = replace(review.findings[2], accepted="known")
    review = replace(review, findings=(*review.findings[:2], accepted, review.findings[3]))
    assert counts_line(review) == "1 risky, 2 remarks; 1 accepted and not counted"
    assert counts_line(review_with()) == "no findings"
