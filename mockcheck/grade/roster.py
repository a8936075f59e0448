"""Who handed in what: students from folders and file names, or from a roster in CSV."""

from __future__ import annotations

import csv
import io
import unicodedata
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

from mockcheck.errors import BadBrief
from mockcheck.model.words import printable

_SEPARATOR = " - "
_DELIMITERS = ",;\t|"
_ENCODINGS = ("utf-8-sig", "cp1252")
_COLUMNS = {
    "student": ("student", "name"),
    "file": ("file", "files", "filename", "folder"),
    "id": ("id", "number"),
}


@dataclass(frozen=True)
class RosterRow:
    """One line of a roster; `file` is a file or a folder, '' where the name has to find it."""

    student: str
    file: str = ""
    id: str = ""


@dataclass(frozen=True)
class Student:
    """One student and the files that are theirs, by their paths below the folder of the class.

    `is_listed` is False for files that no line of the roster claims.
    """

    name: str
    files: tuple[str, ...]
    id: str = ""
    is_listed: bool = True


def name_from_path(file: PurePosixPath) -> str:
    """Whose file it is by its place: the folder's name, or what stands before ' - '.

    'Ada/quartet.mid', 'Ada - quartet.mid' and 'Ada.mid' are Ada's.
    """
    if len(file.parts) > 1:
        return _tidy(file.parts[0])
    return _tidy(file.stem.partition(_SEPARATOR)[0]) or _tidy(file.stem)


def students_of(files: Sequence[str], roster: Sequence[RosterRow] | None) -> list[Student]:
    """Every student with their files, those of the roster first and in its order.

    A student without a file is kept, and so is a file that nobody claims.

    Parameters
    ----------
    files
        Paths below the folder of the class, '/' between folders.
    """
    free = {file: PurePosixPath(file) for file in files}
    claimed: dict[tuple[str, str], list[str]] = {}
    for row in roster or ():
        mine = claimed.setdefault((row.student, row.id), [])
        for file in [file for file, place in free.items() if _is_named(row, place)]:
            mine.append(file)
            del free[file]
    # Names come last, so that they take nothing that a line of the roster names outright.
    for row in roster or ():
        if not row.file:
            wanted = {_key(row.student), _key(row.id)} - {""}
            for file in [f for f, place in free.items() if _key(name_from_path(place)) in wanted]:
                claimed[row.student, row.id].append(file)
                del free[file]
    unlisted: dict[str, list[str]] = defaultdict(list)
    for file, place in free.items():
        unlisted[name_from_path(place)].append(file)
    listed = [Student(name, tuple(mine), number) for (name, number), mine in claimed.items()]
    return listed + [
        Student(name, tuple(mine), is_listed=roster is None)
        for name, mine in sorted(unlisted.items(), key=lambda row: (_key(row[0]), row[0]))
    ]


def _is_named(row: RosterRow, place: PurePosixPath) -> bool:
    if not row.file:
        return False
    wanted = _key(row.file.replace("\\", "/").strip("/"))
    names = {place.as_posix(), place.name, place.stem, place.with_suffix("").as_posix()}
    folders = {parent.as_posix() for parent in place.parents if parent.name}
    return wanted in {_key(name) for name in names | folders}


def _key(name: str) -> str:
    """One form for names that differ only in case, in spaces or in how accents are encoded."""
    return _tidy(unicodedata.normalize("NFKC", name)).casefold()


def _tidy(name: str) -> str:
    return printable(unicodedata.normalize("NFC", name)).strip()


def read_roster(path: Path) -> list[RosterRow]:
    """The lines of a roster: a column 'student', and if wanted 'file' and 'id'.

    Commas, semicolons, tabs or bars part the columns; UTF-8 with or without a mark, or Windows
    Western text.

    Raises BadBrief, with every fault, when it cannot be used.
    """
    try:
        raw = path.read_bytes()
    except OSError as error:
        message = f"{path}: the roster cannot be read ({error.strerror or error})."
        raise BadBrief(message) from None
    return roster_from(_decoded(raw), path.name)


def _decoded(raw: bytes) -> str:
    if raw[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return raw.decode("utf-16", errors="replace")
    for encoding in _ENCODINGS:
        try:
            return raw.decode(encoding)
        except UnicodeDecodeError:
            continue
    return raw.decode("latin-1")


def roster_from(text: str, origin: str) -> list[RosterRow]:
    """The same of text; `origin` names the roster in messages."""
    head = next((line for line in text.splitlines() if line.strip()), "")
    delimiter = max(_DELIMITERS, key=head.count)
    # A spreadsheet of long ago ends its lines with a carriage return alone.
    reader = csv.reader(io.StringIO(text, newline=None), delimiter=delimiter)
    try:
        lines = [(number, [_tidy(c) for c in cells]) for number, cells in enumerate(reader, 1)]
    except csv.Error as error:
        message = (
            f"{origin}: the roster cannot be read as CSV, line {reader.line_num} ({error}). Save it"
            " again as CSV from the spreadsheet."
        )
        raise BadBrief(message) from None
    lines = [(number, cells) for number, cells in lines if any(cells)]
    if not lines:
        message = f"{origin}: the roster is empty. Its first line names the columns: student, file."
        raise BadBrief(message)
    columns = _columns(lines[0][1])
    if "student" not in columns:
        named = ", ".join(cell for cell in lines[0][1] if cell)
        message = (
            f"{origin}: no column of the roster is called 'student'; its first line reads"
            f" '{named}'. Call the column with the names 'student'."
        )
        raise BadBrief(message)
    rows, faults = [], []
    for number, cells in lines[1:]:
        row = {
            name: cells[column] if column < len(cells) else "" for name, column in columns.items()
        }
        if row["student"]:
            rows.append(RosterRow(**row))
        else:
            faults.append(f"line {number}: the student's name is missing")
    faults += _double_claims(rows)
    if faults:
        told = "\n".join(f"  - {fault}" for fault in faults)
        message = f"{origin}: the roster cannot be used:\n{told}"
        raise BadBrief(message)
    return rows


def _columns(head: Sequence[str]) -> dict[str, int]:
    found: dict[str, int] = {}
    for name, words in _COLUMNS.items():
        for column, cell in enumerate(head):
            if cell.casefold() in words and name not in found:
                found[name] = column
    return found


def _double_claims(rows: Iterable[RosterRow]) -> list[str]:
    owners: Mapping[str, set[tuple[str, str]]] = defaultdict(set)
    for row in rows:
        if row.file:
            owners[_key(row.file)].add((row.student, row.id))
    return [
        f"'{file}' is given to {' and '.join(sorted(name for name, _ in who))}"
        for file, who in sorted(owners.items())
        if len(who) > 1
    ]
