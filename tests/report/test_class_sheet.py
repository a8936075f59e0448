import csv
import io

from mockcheck.grade.roster import Student
from mockcheck.grade.rubric import read_rubric
from mockcheck.grade.whole_class import ClassGrades, Fault, grade_class
from mockcheck.report.class_sheet import page_paths, render_class_csv
from tests.grade.works import finding, piece


def grades_of(*names: str) -> ClassGrades:
    pieces = {f"{n}.mid": piece(finding(), name=f"{n}.mid") for n in range(len(names))}
    students = [Student(name, (f"{n}.mid",), f"{n}") for n, name in enumerate(names)]
    return grade_class(students, pieces, {}, read_rubric(None))


def rows_of(grades: ClassGrades) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(render_class_csv(grades))))


def test_a_row_a_student_with_all_that_adds_up() -> None:
    (row,) = rows_of(grades_of("Ada"))
    lost = sum(float(row[name]) for name in row if name.startswith("lost_"))
    assert float(row["points"]) == float(row["of"]) - lost + float(row["good_practice"])
    assert (row["student"], row["id"], row["risky"], row["bars"]) == ("Ada", "0", "1", "25")
    assert row["page"] == "students/Ada.html"


def test_who_has_no_points_has_a_row_with_the_reason() -> None:
    students = [Student("Ben", ("b.mid",)), Student("Cy", ()), Student("Di", (), is_listed=False)]
    faults = {"b.mid": Fault("b.mid", "b.mid: this is not a MIDI file.")}
    rows = rows_of(grade_class(students, {}, faults, read_rubric(None)))
    assert [row["points"] for row in rows] == ["", "", ""]
    assert rows[0]["note"] == "b.mid: this is not a MIDI file."
    assert rows[1]["note"] == "no file"
    assert "not on the roster" in rows[2]["note"]


def test_no_cell_can_start_a_formula() -> None:
    hostile = ("=1+1", "+49", "-2", "@SUM(A1)", "\t=cmd|' /C calc'!A0", "=x")
    for row in rows_of(grades_of(*hostile)):
        assert row["student"].startswith("'")
        assert not any(value[:1] in {"=", "@", "+"} for value in row.values())


def test_a_page_is_never_written_over_another() -> None:
    names = ("Zoë", "zoë", "Zoë!", "../Zoë", "CON", "....", "李雷", "a" * 300)
    paths = page_paths(grades_of(*names).students)
    assert len({path.casefold() for path in paths}) == len(names)
    assert paths[:4] == [
        "students/Zoë.html", "students/zoë-2.html", "students/Zoë-3.html", "students/Zoë-4.html",
    ]  # fmt: skip
    assert all(path.count("/") == 1 and ".." not in path for path in paths)
    assert all(len(path) < 100 for path in paths)
