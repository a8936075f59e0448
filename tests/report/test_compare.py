import json
from dataclasses import replace

import pytest

from mockcheck.model.finding import Finding, Severity
from mockcheck.plan.alignment import align
from mockcheck.plan.compare import Comparison, Kept
from mockcheck.report.compare import (
    SCHEMA,
    headline,
    kept_place,
    render_compare,
    render_compare_json,
    severity_words,
)
from tests.report.synthetic import BAR, HOSTILE_NAME, VIOLIN, finding_of, part_of, review_of

NAME = "run-too-fast-3fdc0e16d05901f8ab"
PART = part_of("Violin 1", VIOLIN, [(60, bar * BAR, bar * BAR + 900) for bar in range(30)])


def at_bar(bar: int, severity: Severity = Severity.RISKY) -> Finding:
    found = finding_of(PART, severity, (bar - 1) * BAR, (bar - 1) * BAR + 900)
    return replace(found, id=NAME)


def kept(*bars: tuple[int, int]) -> tuple[Kept, ...]:
    return tuple(Kept(at_bar(old), at_bar(new)) for old, new in bars)


def comparison(
    fixed: tuple[Finding, ...] = (),
    still: tuple[Kept, ...] = (),
    new: tuple[Finding, ...] = (),
    accepted: tuple[Finding, ...] = (),
) -> Comparison:
    review = review_of([PART])
    return Comparison(
        review, review, align(review.played, review.played), fixed, still, new, accepted
    )


@pytest.mark.parametrize(
    ("still", "words"),
    [
        (kept(), "still there: 0;"),
        (kept((2, 2), (3, 3)), "still there: 2;"),
        (kept((2, 2), (3, 7), (4, 8)), "still there: 3 (2 of them moved by 4 bars);"),
        (kept((3, 4), (4, 5)), "still there: 2 (all moved by 1 bar);"),
        (kept((9, 7), (2, 2)), "still there: 2 (1 of them moved back by 2 bars);"),
        (kept((2, 3), (4, 7), (8, 15), (9, 9)), "still there: 4 (3 of them moved);"),
    ],
)
def test_the_headline_says_how_many_and_how_far(still: tuple[Kept, ...], words: str) -> None:
    text = headline(comparison(fixed=(at_bar(1),), still=still, new=(at_bar(5), at_bar(6))))
    assert text.startswith("Fixed: 1; ")
    assert words in text
    assert text.endswith("new: 2.")


def test_accepted_ones_are_counted_apart() -> None:
    meant = replace(at_bar(3), accepted="meant")
    assert headline(comparison(accepted=(meant,))).endswith("accepted and not counted: 1.")


def test_new_findings_come_first_and_every_one_has_a_cure() -> None:
    many = tuple(at_bar(bar) for bar in range(1, 20))
    text = render_compare(comparison(fixed=(at_bar(25),), still=kept((20, 22)), new=many))
    assert text.index("New") < text.index("Still there") < text.index("Fixed\n")
    assert text.count("Do: ") == len(many)
    assert "bar 22, beat 1 (was bar 20, beat 1)" in text
    assert "was bar 25, beat 1" in text


def test_long_lists_of_what_is_old_are_cut_and_say_so() -> None:
    old = comparison(still=kept(*((bar, bar) for bar in range(1, 20))))
    assert "and 7 more; --all prints every one." in render_compare(old)
    assert "--all" not in render_compare(old, show_all=True)


def test_the_worst_stand_first() -> None:
    new = (at_bar(2, Severity.REMARK), at_bar(9, Severity.IMPOSSIBLE))
    text = render_compare(comparison(new=new))
    assert text.index("impossible") < text.index("remark")


def test_a_finding_that_got_worse_or_better_says_so() -> None:
    pair = Kept(at_bar(2, Severity.RISKY), at_bar(2, Severity.AWKWARD))
    assert severity_words(pair) == "better: was risky"
    assert severity_words(Kept(pair.new, pair.old)) == "worse: was awkward"
    assert severity_words(Kept(pair.new, pair.new)) == ""
    assert kept_place(pair) == "bar 2, beat 1"
    assert "better: was risky" in render_compare(comparison(still=(pair,)))


def test_no_name_commands_the_terminal() -> None:
    hostile = replace(at_bar(2), part=HOSTILE_NAME, message=f"{HOSTILE_NAME}.")
    text = render_compare(comparison(fixed=(hostile,), new=(hostile,)))
    assert "\x1b" not in text
    assert "\u202e" not in text


def test_lines_keep_the_width() -> None:
    text = render_compare(comparison(new=(at_bar(2),), still=kept((3, 4))), width=60)
    assert max(map(len, text.splitlines())) <= 60


def test_the_json_has_all_of_it_under_a_name_of_its_own() -> None:
    document = json.loads(
        render_compare_json(
            comparison(fixed=(at_bar(1),), still=kept((2, 6), (3, 3)), new=(at_bar(9),))
        )
    )
    assert document["schema"] == SCHEMA == "mockcheck.compare/1"
    assert document["counts"] == {
        "fixed": 1,
        "still_there": 2,
        "moved": 1,
        "new": 1,
        "accepted": 0,
    }
    assert [row["moved_bars"] for row in document["still_there"]] == [4, 0]
    assert document["new_findings"][0]["start"]["bar"] == 9
    assert document["headline"].startswith("Fixed: 1; still there: 2")
