from pathlib import Path

import pytest

from mockcheck.errors import BadBrief
from mockcheck.grade.roster import (
    RosterRow,
    Student,
    name_from_path,
    read_roster,
    roster_from,
    students_of,
)

ROWS = [RosterRow("Zoë Ångström", "a.mid", "7"), RosterRow("Ben")]


@pytest.mark.parametrize(
    ("file", "name"),
    [
        ("Ada.mid", "Ada"),
        ("Ada Lovett - quartet.mid", "Ada Lovett"),
        ("Ada-Lovett.mid", "Ada-Lovett"),
        ("Ada Lovett/quartet.mid", "Ada Lovett"),
        ("Ada/drafts/one.mid", "Ada"),
        (" - quartet.mid", "- quartet"),
    ],
)
def test_whose_file_it_is(file: str, name: str) -> None:
    from pathlib import PurePosixPath

    assert name_from_path(PurePosixPath(file)) == name


def test_without_a_roster_files_of_one_name_are_one_students() -> None:
    found = students_of(["Ben/x.mid", "Ada - one.mid", "Ada - two.mid"], None)
    assert found == [
        Student("Ada", ("Ada - one.mid", "Ada - two.mid")),
        Student("Ben", ("Ben/x.mid",)),
    ]


def test_a_roster_names_files_folders_and_students_in_its_order() -> None:
    rows = [
        RosterRow("Zoë", "x1.mid", "3"),
        RosterRow("Zoë", "X2", "3"),
        RosterRow("Cy", "cy's folder"),
        RosterRow("Ben"),
        RosterRow("Di", "", "44"),
    ]
    files = ["44 - final.mid", "Ben - a.mid", "cy's folder/in/a.mid", "x1.mid", "x2.mid"]
    assert students_of(files, rows) == [
        Student("Zoë", ("x1.mid", "x2.mid"), "3"),
        Student("Cy", ("cy's folder/in/a.mid",)),
        Student("Ben", ("Ben - a.mid",)),
        Student("Di", ("44 - final.mid",), "44"),
    ]


def test_who_handed_in_nothing_and_what_nobody_claims_both_stand_there() -> None:
    found = students_of(["Eve.mid"], ROWS)
    assert found == [
        Student("Zoë Ångström", (), "7"),
        Student("Ben", ()),
        Student("Eve", ("Eve.mid",), is_listed=False),
    ]


def test_a_line_that_names_a_file_goes_before_a_name() -> None:
    rows = [RosterRow("Ann"), RosterRow("Bea", "Ann - for Bea.mid")]
    found = students_of(["Ann - for Bea.mid", "Ann - mine.mid"], rows)
    assert [student.files for student in found] == [("Ann - mine.mid",), ("Ann - for Bea.mid",)]


def test_names_are_one_whatever_their_case_and_accents() -> None:
    decomposed = "ZOE\N{COMBINING DIAERESIS}.mid"
    assert students_of([decomposed], [RosterRow("Zoë")])[0].files == (decomposed,)


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252", "utf-16"])
@pytest.mark.parametrize("line", ["\n", "\r\n"])
def test_a_roster_is_read_as_spreadsheets_write_it(
    delimiter: str, encoding: str, line: str, tmp_path: Path
) -> None:
    table = [["ID", "Student", "File"], ["7", "Zoë Ångström", "a.mid"], ["", "Ben", ""]]
    text = line.join(delimiter.join(row) for row in table) + line * 2
    path = tmp_path / "class.csv"
    path.write_bytes(text.encode(encoding))
    assert read_roster(path) == ROWS


def test_quoted_cells_may_hold_the_delimiter() -> None:
    assert roster_from('student,file\n"Lovett, Ada",x.mid\n', "r")[0].student == "Lovett, Ada"


def test_every_fault_of_a_roster_is_told_at_once() -> None:
    text = "student,file\n,x.mid\nAda,y.mid\n,z.mid\nBen,Y.mid\n"
    with pytest.raises(BadBrief) as caught:
        roster_from(text, "class.csv")
    told = str(caught.value)
    for words in ("class.csv", "line 2", "line 4", "Ada and Ben"):
        assert words in told


@pytest.mark.parametrize("text", ["", "\n\n", "pupil,file\nAda,x.mid\n"])
def test_a_roster_without_students_says_what_it_needs(text: str) -> None:
    with pytest.raises(BadBrief, match="student"):
        roster_from(text, "class.csv")


def test_a_roster_that_is_not_there_is_told(tmp_path: Path) -> None:
    with pytest.raises(BadBrief, match=r"none\.csv"):
        read_roster(tmp_path / "none.csv")


def test_lines_that_end_with_a_carriage_return_alone_are_lines() -> None:
    rows = roster_from("student,id\rAda,7\rZoë,9\r", "class.csv")
    assert [(row.student, row.id) for row in rows] == [("Ada", "7"), ("Zoë", "9")]


def test_what_is_no_csv_is_refused_with_its_line() -> None:
    with pytest.raises(BadBrief, match=r"class\.csv: the roster cannot be read as CSV, line 2"):
        roster_from("student\n" + "A" * 200_000, "class.csv")
