from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

from lxml import html  # type: ignore[import-untyped]  # ships no types

from mockcheck.grade.roster import Student
from mockcheck.grade.rubric import rubric_from
from mockcheck.grade.whole_class import ClassGrades, Fault, grade_class
from mockcheck.model.finding import Severity
from mockcheck.report.class_page import render_class_page
from tests.browsing import needs_chromium, open_browser
from tests.grade.test_likeness import quartet
from tests.grade.works import finding, piece, plain_music
from tests.report.test_student_page import HOSTILE, words_of


def grades() -> ClassGrades:
    music = plain_music(quartet("same"))
    files = {
        "a.mid": replace(piece(finding(confidence=0.3), name="a.mid"), music=music),
        "b.mid": replace(
            piece(
                *(finding("note-below-open-string", Severity.IMPOSSIBLE, b) for b in (1, 5, 9)),
                name="b.mid",
            ),
            music=music,
        ),
        "c.mid": piece(name="c.mid"),
    }
    students = [
        Student("Ben", ("b.mid",), "12"),
        Student("Ada", ("a.mid",)),
        Student("Nobody", ()),
        Student("Broken", ("x.mid",)),
        Student("Cy", ("c.mid",), is_listed=False),
    ]
    faults = {"x.mid": Fault("x.mid", "x.mid: the file is empty.")}
    rubric = rubric_from({"words": [{"word": "good", "from": 80}]}, "r")
    return grade_class(students, files, faults, rubric)


def tree_of(made: ClassGrades) -> Any:
    return html.document_fromstring(render_class_page(made))


def test_every_student_has_a_row_with_points_or_a_reason() -> None:
    lines = tree_of(grades()).xpath("//table[@id='sheet']/tbody/tr")
    rows = {words_of(row.xpath("./th")[0]): words_of(row) for row in lines}
    assert {"Ben (12)", "Ada", "Nobody", "Broken", "Cy"} <= set(rows)
    assert "no file" in rows["Nobody"]
    assert "the file is empty" in rows["Broken"]
    assert "not on the roster" in rows["Cy"]
    assert "100.00 good" in rows["Cy"]


def test_a_name_leads_to_the_students_page() -> None:
    assert tree_of(grades()).xpath("//tbody//a/@href") == [
        "students/Ben.html", "students/Ada.html", "students/Cy.html",
    ]  # fmt: skip


def test_every_row_is_as_wide_as_the_head() -> None:
    for has_reference in (False, True):
        page = render_class_page(grades(), has_reference=has_reference)
        table = html.document_fromstring(page).xpath("//table[@id='sheet']")[0]
        widths = {len(row.xpath("./th | ./td")) for row in table.xpath(".//tr")}
        assert len(widths) == 1


def test_likeness_is_asked_and_not_judged() -> None:
    text = words_of(tree_of(grades()))
    assert "Ben and Ada" in text
    assert "A question, not a verdict" in text


def test_what_to_teach_next_and_what_to_look_at_are_named() -> None:
    tree = tree_of(grades())
    assert "below the lowest open string" in words_of(tree.xpath("//ol[@class='teach']/li")[0])
    assert "rests on a guess" in words_of(tree)


def test_pictures_say_what_they_show() -> None:
    tree = tree_of(grades())
    labels = tree.xpath("//*[name()='svg']/@aria-label")
    assert "3 findings along the piece" in labels
    assert any(label.startswith("Students by points: ") for label in labels)


def test_a_class_without_points_is_still_a_page() -> None:
    empty = grade_class([Student("Cy", ())], {}, {}, rubric_from({}, "r"))
    assert "none of whose files could be graded" in words_of(tree_of(empty))


def test_text_from_files_is_escaped_and_nothing_is_loaded() -> None:
    files = {"a.mid": piece(finding(part=HOSTILE, confidence=0.1), name="a.mid")}
    students = [Student(HOSTILE, ("a.mid",)), Student("B", ("b",))]
    faults = {"b": Fault("b", HOSTILE)}
    page = render_class_page(grade_class(students, files, faults, rubric_from({}, "r")))
    tree = html.document_fromstring(page)
    assert len(tree.xpath("//script")) == 1
    assert not tree.xpath("//*[@onload] | //img | //link | //@src")
    (policy,) = tree.xpath("//meta[@http-equiv='Content-Security-Policy']/@content")
    assert policy.startswith("default-src 'none'")


@needs_chromium
def test_the_table_sorts_by_keyboard_and_says_so(tmp_path: Path) -> None:
    path = tmp_path / "sheet.html"
    path.write_text(render_class_page(grades()), encoding="utf-8")
    with open_browser() as browser:
        page = browser.new_page()
        faults: list[str] = []
        page.on("pageerror", lambda error: faults.append(str(error)))
        page.on("console", lambda line: faults.append(line.text))
        page.goto(path.as_uri())

        def names() -> list[str]:
            return [text.split()[0] for text in page.locator("#sheet tbody th").all_inner_texts()]

        assert names() == ["Ben", "Ada", "Nobody", "Broken", "Cy"]
        button = page.get_by_role("button", name="Points")
        button.focus()
        page.keyboard.press("Enter")
        assert names() == ["Cy", "Ada", "Ben", "Nobody", "Broken"]
        assert button.locator("..").get_attribute("aria-sort") == "descending"
        page.keyboard.press("Enter")
        assert names() == ["Ben", "Ada", "Cy", "Nobody", "Broken"]
        page.get_by_role("button", name="Student").press("Enter")
        assert names() == ["Ada", "Ben", "Broken", "Cy", "Nobody"]
        assert page.locator("#sorted").inner_text() == "Sorted by Student, rising."
        assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
        page.set_viewport_size({"width": 360, "height": 700})
        assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
        assert faults == []
