from dataclasses import replace

from mockcheck.grade.roster import Student
from mockcheck.grade.rubric import read_rubric
from mockcheck.grade.whole_class import ClassGrades, Fault, grade_class
from tests.grade.test_likeness import quartet
from tests.grade.works import finding, piece, plain_music

RUBRIC = read_rubric(None)
MODEL = replace(piece(name="model.mid"), music=plain_music(quartet("model")))


def graded() -> ClassGrades:
    students = [
        Student("Ada", ("a1.mid", "a2.mid")),
        Student("Ben", ("b.mid",)),
        Student("Cy", ()),
        Student("Di", ("d1.mid", "d2.mid")),
    ]
    pieces = {name: piece(finding(), name=name) for name in ("a1.mid", "a2.mid", "d1.mid")}
    faults = {name: Fault(name, f"{name}: broken") for name in ("b.mid", "d2.mid")}
    return grade_class(students, pieces, faults, RUBRIC)


def test_every_student_has_a_line_whatever_became_of_their_files() -> None:
    rows = {row.student.name: row for row in graded().students}
    assert list(rows) == ["Ada", "Ben", "Cy", "Di"]
    assert [name for name, row in rows.items() if row.grade is None] == ["Ben", "Cy"]
    assert rows["Ben"].faults[0].reason == "b.mid: broken"
    assert len(graded().graded) == 2


def test_a_broken_file_beside_a_good_one_is_for_the_teachers_eye() -> None:
    row = graded().students[3]
    assert row.grade is not None
    assert any("d2.mid" in line for line in row.for_teacher)


def test_files_of_one_student_are_graded_together() -> None:
    row = graded().students[0]
    assert row.grade is not None
    assert row.grade.submission.played_bars == 200
    assert len(row.grade.charges) == 2


def test_the_file_with_most_of_the_model_is_held_against_it() -> None:
    own = replace(piece(name="own.mid"), music=plain_music(quartet("own")))
    right = replace(MODEL, name="right.mid")
    files = {"own.mid": own, "right.mid": right}
    grades = grade_class([Student("Ada", tuple(files))], files, {}, RUBRIC, MODEL)
    (row,) = grades.students
    assert row.reference_piece == "right.mid"
    assert row.reference is not None
    assert row.reference.same == row.reference.notes
    assert row.grade is not None
    assert row.grade.reference_lost == 0


def test_the_same_music_twice_is_pointed_out_and_costs_nothing() -> None:
    files = {
        name: replace(piece(name=name), music=plain_music(quartet(seed)))
        for name, seed in (("a", "one"), ("b", "one"), ("c", "two"))
    }
    students = [Student(name.upper(), (name,)) for name in files]
    grades = grade_class(students, files, {}, RUBRIC)
    assert [(row.student, row.other) for row in grades.likenesses] == [("A", "B")]
    assert len({row.grade.points for row in grades.students if row.grade}) == 1
