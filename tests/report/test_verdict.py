from dataclasses import replace
from itertools import product

import pytest

from mockcheck.model.finding import CheckOutcome, Outcome, Severity
from mockcheck.model.review import Review
from mockcheck.model.session import Level, NamedLevel, Session
from mockcheck.report._verdict import counts_line, level_words, verdict
from tests.report.synthetic import (
    BAR,
    TPQ,
    VIOLA,
    VIOLIN,
    finding_of,
    frames_timeline,
    part_of,
    review_of,
)

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
    assert verdict(review) == "Ready but for two bars: risky in Viola, bars 4, 17."


def test_the_worst_decides_and_its_places_and_parts_are_counted() -> None:
    rows = [("Violin 1", Severity.IMPOSSIBLE, bar, 0.9) for bar in (1, 2, 3)]
    review = review_with(*rows, ("Viola", Severity.IMPOSSIBLE, 9, 0.9))
    assert verdict(review) == "Not ready: four impossible places in two parts."
    assert verdict(review_with(rows[0])) == "Not ready: one impossible place in Violin 1, bar 1."
    many = [("Violin 1", Severity.IMPOSSIBLE, bar, 0.9) for bar in range(1, 1205)]
    assert verdict(review_with(*many)) == "Not ready: 1,204 impossible places in Violin 1."


@pytest.mark.parametrize("present", list(product((0, 1, 3), repeat=4)))
def test_every_mix_of_severities_is_judged_by_its_worst(present: tuple[int, ...]) -> None:
    worst_first = sorted(Severity, reverse=True)
    rows = [
        ("Viola", severity, 4 * bar + rank + 1, 0.9)
        for rank, (severity, count) in enumerate(zip(worst_first, present, strict=True))
        for bar in range(count)
    ]
    text = verdict(review_with(*rows))
    assert text.endswith(".")
    assert text.count(".") == 1
    impossible, risky, awkward, _ = present
    if impossible:
        head = {1: "one impossible place", 3: "three impossible places"}[impossible]
        assert text.startswith(f"Not ready: {head} in Viola, bar")
    elif risky or awkward:
        count, word = (risky, "risky") if risky else (awkward, "awkward")
        bars = {1: "one bar", 3: "three bars"}[count]
        assert text.startswith(f"Ready but for {bars}: {word} in Viola, bar")
    else:
        assert text == "Ready: nothing stands in the way."
    assert "remark" not in text


def test_numbers_are_words_up_to_ten_and_then_a_share_of_the_cue() -> None:
    def awkward_in(bars: int) -> str:
        return verdict(review_with(*(("Viola", Severity.AWKWARD, n + 1, 0.9) for n in range(bars))))

    assert awkward_in(10) == "Ready but for ten bars: awkward in Viola."
    assert awkward_in(11) == "Ready but for 11 of 40 bars: awkward in Viola."
    assert awkward_in(40) == "Ready but for 40 of 40 bars: awkward in Viola."


def test_two_places_in_one_bar_are_one_bar() -> None:
    rows = [(name, Severity.RISKY, 7, 0.9) for name in ("Viola", "Violin 1")]
    assert verdict(review_with(*rows)) == "Ready but for one bar: risky in two parts."


def test_what_goes_over_a_bar_line_is_a_place() -> None:
    long = finding_of(VIOLAS, Severity.AWKWARD, 3 * BAR, 9 * BAR)
    review = review_of([VIOLINS, VIOLAS], [long])
    assert verdict(review) == "Ready but for one place: awkward in Viola, bar 4."
    to_the_line = finding_of(VIOLAS, Severity.AWKWARD, 3 * BAR, 4 * BAR)
    review = review_of([VIOLINS, VIOLAS], [to_the_line])
    assert verdict(review) == "Ready but for one bar: awkward in Viola, bar 4."


def test_music_without_bars_has_places() -> None:
    part = part_of("Viola", VIOLA, [(60, 0, 9000)], timeline=frames_timeline())
    review = review_of([part], [finding_of(part, Severity.RISKY, 2500, 2600)])
    assert verdict(review) == "Ready but for one place: risky in Viola, at 2.5 s."


def test_accepted_places_do_not_stand_in_the_way() -> None:
    review = review_with(("Viola", Severity.IMPOSSIBLE, 3, 0.9), ("Viola", Severity.RISKY, 4, 0.9))
    accepted = replace(review.findings[0], accepted="a second player takes the lower note")
    review = replace(review, findings=(accepted, review.findings[1]))
    assert verdict(review) == "Ready but for one bar: risky in Viola, bar 4."


def test_a_verdict_on_guesses_says_so() -> None:
    sure = ("Violin 1", Severity.IMPOSSIBLE, 1, 0.7)
    guess = ("Viola", Severity.IMPOSSIBLE, 2, 0.69)
    assert verdict(review_with(sure, guess)).endswith("in two parts (one resting on a guess).")
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


@pytest.mark.parametrize(
    ("session", "words"),
    [
        (Session(), "sight: a section that reads at sight"),
        (Session(level=Level.SOLO), "solo: a soloist who has practised"),
        (
            Session(named_level=NamedLevel("student orchestra", 0.75)),
            "student orchestra: like a section that reads at sight, at 75% of the tempo",
        ),
        (
            Session(level=Level.REHEARSED, named_level=NamedLevel("concert week")),
            "concert week: like players after a few run-throughs",
        ),
    ],
)
def test_a_level_is_told_with_whom_it_means(session: Session, words: str) -> None:
    assert level_words(session) == words
