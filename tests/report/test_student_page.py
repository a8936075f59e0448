from __future__ import annotations

import re
from dataclasses import replace
from typing import Any

import pytest
from lxml import html  # type: ignore[import-untyped]  # ships no types

from mockcheck.grade.roster import Student
from mockcheck.grade.rubric import Rubric, rubric_from
from mockcheck.grade.submission import Piece
from mockcheck.grade.whole_class import Fault, StudentGrade, grade_class
from mockcheck.model.finding import Finding, Severity
from mockcheck.report.student_page import render_student_page
from tests.grade.test_likeness import quartet
from tests.grade.works import finding, piece, plain_music

HOSTILE = "<script>alert('&amp;')</script>\" onload=\"x"


def graded(rubric: Rubric, *pieces: Piece, model: Piece | None = None) -> StudentGrade:
    files = {item.name: item for item in pieces}
    grades = grade_class([Student("Ada", tuple(files))], files, {}, rubric, model)
    return grades.students[0]


def page_of(*findings: Finding, **rubric: Any) -> tuple[StudentGrade, Any]:
    rules = rubric_from(rubric, "r")
    row = graded(rules, piece(*findings))
    return row, html.document_fromstring(render_student_page(row, rules))


def number(text: str) -> float:
    return float(text.replace("\N{MINUS SIGN}", "-").replace("+", ""))


def words_of(element: Any) -> str:
    return " ".join(element.text_content().split())


MANY = (
    *(finding(bar=bar) for bar in range(1, 22, 2)),
    finding("note-below-open-string", Severity.IMPOSSIBLE, 3, "Viola"),
    finding("odd-tuplet", Severity.AWKWARD, 1),
    finding("bow-runs-out", Severity.REMARK, 8, "Cello", confidence=0.3),
    finding("slides-overused", Severity.AWKWARD, 9, accepted="meant: comic"),
)


def losses(tree: Any) -> list[float]:
    """Everything listed on the page that takes or earns points."""
    return [number(words_of(cell)) for cell in tree.xpath("//*[@class='lost']")]


@pytest.mark.parametrize(
    "rules",
    [
        {},
        {"requirements": [{"kind": "bars", "at_least": 100, "points": 40}], "bonuses": []},
        {"requirements": [{"kind": "bars", "at_least": 10000, "points": 500}]},
    ],
)
def test_what_is_listed_adds_up_to_the_points(rules: dict[str, Any]) -> None:
    row, tree = page_of(*MANY, **rules)
    assert row.grade is not None
    account = [number(words_of(cell)) for cell in tree.xpath("//table[@class='account']//td")]
    assert sum(account[:-1]) == pytest.approx(account[-1])
    assert account[-1] == pytest.approx(row.grade.points)
    bounds = (row.grade.floor - row.grade.ceiling) / 100
    assert 100 + sum(losses(tree)) + bounds == pytest.approx(row.grade.points)


def test_every_finding_of_the_review_is_listed_once_with_its_place() -> None:
    _, tree = page_of(*MANY)
    listed = tree.xpath("//tr/@data-finding")
    counted = [item for item in MANY if item.accepted is None]
    assert sorted(listed) == sorted(item.id for item in counted)
    for item in counted:
        (line,) = tree.xpath(f"//tr[@data-finding='{item.id}']")
        for words in (item.part, f"bar {item.start.bar}", item.message, item.suggestion):
            assert words in words_of(line)


def test_subtotals_are_the_sums_of_their_findings() -> None:
    _, tree = page_of(*MANY)
    for group in tree.xpath("//article[@class='group']"):
        inside = [number(words_of(cell)) for cell in group.xpath(".//*[@class='lost']")]
        (subtotal,) = group.xpath(".//*[@class='subtotal']")
        assert sum(inside) == pytest.approx(number(words_of(subtotal)))


def test_caps_guesses_and_shared_passages_are_explained() -> None:
    row, tree = page_of(*MANY)
    assert row.grade is not None
    free = sum(charge.lost == 0 and charge.price > 0 for charge in row.grade.charges)
    text = words_of(tree)
    assert free > 1
    assert f"{free} more of the same: no further points lost." in text
    assert "limit of one kind of mistake; by itself 3.00" in text
    assert "free: limit of one kind of mistake" in text
    assert "a guess, so only 50 %" in text
    assert "the same passage as run-too-fast, so free" in text


def test_the_three_most_useful_things_say_what_where_and_how_much() -> None:
    row, tree = page_of(*MANY)
    items = tree.xpath("//ol[@class='gains']/li")
    assert len(items) == len(row.gains) == 3
    for item, gain in zip(items, row.gains, strict=True):
        assert f"+{gain.points / 100:.2f} points" in words_of(item)
    assert "Violin 1: bars 1, 3, 5" in words_of(tree.xpath("//ol[@class='gains']")[0])


def test_what_was_accepted_is_shown_with_its_reason() -> None:
    _, tree = page_of(*MANY)
    assert "meant: comic" in words_of(tree)


def test_a_flawless_piece_has_nothing_to_do_and_is_told_so() -> None:
    _, tree = page_of()
    assert "100.00 of 100 points" in words_of(tree)
    assert "Nothing was found at all" in words_of(tree)
    assert not tree.xpath("//ol[@class='gains']")


def test_the_words_of_the_rubric_stand_beside_the_points() -> None:
    _, tree = page_of(words=[{"word": "with distinction", "from": 90}])
    assert "points: with distinction" in words_of(tree)


def test_against_a_model_every_loss_is_listed() -> None:
    rules = rubric_from({}, "r")
    model = replace(piece(name="model.mid"), music=plain_music(quartet("model")))
    own = replace(piece(name="own.mid"), music=plain_music(quartet("other")))
    row = graded(rules, own, model=model)
    tree = html.document_fromstring(render_student_page(row, rules))
    assert row.grade is not None
    assert row.grade.reference_lost == 4000
    rows = [number(words_of(c)) for c in tree.xpath("//table[@class='reference']//td")]
    assert sum(rows) == pytest.approx(-40)
    bounds = (row.grade.floor - row.grade.ceiling) / 100
    assert 100 + sum(losses(tree)) + bounds == pytest.approx(row.grade.points)


def test_of_several_files_each_finding_names_its_own() -> None:
    rules = rubric_from({}, "r")
    row = graded(rules, piece(finding(), name="one.mid"), piece(finding(), name="two.mid"))
    text = words_of(html.document_fromstring(render_student_page(row, rules)))
    assert "one.mid: bar 1" in text
    assert "two.mid: bar 1" in text


def test_nothing_of_anybody_else_is_on_the_page() -> None:
    rules = rubric_from({}, "r")
    music = plain_music(quartet("same"))
    files = {f"{n}.mid": replace(piece(finding(), name=f"{n}.mid"), music=music) for n in range(3)}
    students = [Student("Ada", ("0.mid",)), Student("Ben Other", ("1.mid",))]
    grades = grade_class(students, files, {}, rules)
    assert grades.likenesses
    page = render_student_page(grades.students[0], rules)
    for words in ("Ben", "1.mid", "median", "in common", "class"):
        assert words not in re.sub(r"<style>.*?</style>|class=\"[^\"]*\"", "", page, flags=re.S)


def test_text_from_files_is_escaped_and_nothing_is_loaded() -> None:
    rules = rubric_from({}, "r")
    hostile = finding(part=HOSTILE, message=HOSTILE, suggestion=HOSTILE, id=HOSTILE)
    files = {HOSTILE: piece(hostile, name=HOSTILE)}
    students = [Student(HOSTILE, (HOSTILE, "broken"))]
    faults = {"broken": Fault(HOSTILE, HOSTILE)}
    page = render_student_page(grade_class(students, files, faults, rules).students[0], rules)
    tree = html.document_fromstring(page)
    assert not tree.xpath("//script | //*[@onload] | //img | //link | //@src")
    assert "alert" in words_of(tree)
    (policy,) = tree.xpath("//meta[@http-equiv='Content-Security-Policy']/@content")
    assert policy.startswith("default-src 'none'")


def test_tables_and_headings_name_themselves() -> None:
    _, tree = page_of(*MANY)
    assert tree.xpath("/html/@lang") == ["en-GB"]
    assert len(tree.xpath("//h1")) == 1
    assert not tree.xpath("//th[not(@scope)]")
    ids = tree.xpath("//@id")
    assert len(ids) == len(set(ids))
    assert set(tree.xpath("//@aria-labelledby")) <= set(ids)
