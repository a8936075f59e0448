"""`mockcheck grade`: a class, one sheet and one page a student."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from mockcheck.cli._folder import write_all
from mockcheck.cli._options import session_options, side_by_side_options

if TYPE_CHECKING:
    from mockcheck.grade.submission import Piece
    from mockcheck.grade.whole_class import ClassGrades
    from mockcheck.model.session import Session


def _show_rubric(ctx: click.Context, _: click.Parameter, value: bool) -> None:
    if value and not ctx.resilient_parsing:
        from mockcheck.grade.rubric import default_rubric_text

        click.echo(default_rubric_text(), nl=False)
        ctx.exit()


@click.command(
    epilog="Example: mockcheck grade class/ --rubric rubric.toml --roster class.csv --out grades/"
)
@click.argument("folder", type=click.Path(path_type=Path))
@click.option(
    "--out",
    required=True,
    type=click.Path(path_type=Path, file_okay=False),
    help="Folder for sheet.csv, sheet.html and students/.",
)
@click.option(
    "--rubric",
    type=click.Path(path_type=Path),
    help="TOML file of points; --show-rubric prints the one used without it.",
)
@click.option(
    "--roster",
    type=click.Path(path_type=Path),
    help="CSV file with the columns student and, if wanted, file and id.",
)
@click.option(
    "--reference",
    type=click.Path(path_type=Path),
    help="MIDI file of the score or mock-up that all were to follow.",
)
@session_options
@click.option("--replace", is_flag=True, help="Overwrite grades that are there already.")
@side_by_side_options
@click.option(
    "--show-rubric",
    is_flag=True,
    is_eager=True,
    expose_value=False,
    callback=_show_rubric,
    help="Print the default rubric, with its reasons, to start from.",
)
def command(
    folder: Path,
    out: Path,
    rubric: Path | None,
    roster: Path | None,
    reference: Path | None,
    brief: Path | None,
    level: str | None,
    replace: bool,
    processes: int | None,
    timeout_s: float,
    no_cache: bool,
) -> None:
    """Grade the MIDI files of a FOLDER: a sheet for the teacher, and a page for each student.

    A student's files lie in a folder of their name, or are called 'Name.mid' or 'Name - title.mid';
    a roster names them otherwise. All files of a student are one piece of work: findings and
    lengths are added. Points and reasons are in the rubric. Exit codes: 0, also when some file
    could not be read, which the sheet says; 2 wrong usage, rubric, roster or brief; 3 no file
    could be read; 4 a fault of mockcheck.
    """
    from mockcheck.archive.cache import Cache, default_folder
    from mockcheck.archive.files import find_files
    from mockcheck.cli._pieces import pieces_of
    from mockcheck.grade.roster import read_roster, students_of
    from mockcheck.grade.rubric import read_rubric
    from mockcheck.grade.whole_class import grade_class
    from mockcheck.pipeline import session_for

    _require_folder(folder)
    rules = read_rubric(rubric)
    rows = read_roster(roster) if roster is not None else None
    session = session_for(brief, level)
    _require_room(out, replace=replace)
    model = _model(reference, session) if reference is not None else None
    files = [
        file
        for file in find_files([folder], out).files
        if reference is None or file.path.resolve() != reference.resolve()
    ]
    pieces, faults = pieces_of(
        files, session, processes, timeout_s, None if no_cache else Cache(default_folder())
    )
    students = students_of([file.name for file in files], rows)
    grades = grade_class(students, pieces, faults, rules, model)
    write_all(
        [("--out", out, _documents(grades, has_reference=model is not None))], replace=replace
    )
    _report(grades, out)
    raise click.exceptions.Exit(_exit_code(grades))


def _require_folder(folder: Path) -> None:
    from mockcheck.errors import BadBrief

    if not folder.is_dir():
        message = f"{folder}: there is no such folder. Give the folder with the students' files."
        raise BadBrief(message)


def _require_room(out: Path, *, replace: bool) -> None:
    """Refuse before the work is done what would be refused after it."""
    from mockcheck.errors import BadBrief

    if not replace and (out / "sheet.csv").exists():
        message = f"--out {out}: grades are there already. Choose another folder, or say --replace."
        raise BadBrief(message)


def _model(path: Path, session: Session) -> Piece:
    from mockcheck.cli._pieces import piece_of

    return piece_of(path, path.name, session)


def _documents(grades: ClassGrades, *, has_reference: bool) -> dict[str, bytes]:
    from mockcheck.report.class_page import render_class_page
    from mockcheck.report.class_sheet import page_paths, render_class_csv
    from mockcheck.report.student_page import render_student_page

    made = {
        "sheet.csv": render_class_csv(grades),
        "sheet.html": render_class_page(grades, has_reference=has_reference),
    }
    for row, page in zip(grades.students, page_paths(grades.students), strict=True):
        if page:
            made[page] = render_student_page(row, grades.rubric)
    return {name: text.encode("utf-8") for name, text in made.items()}


def _report(grades: ClassGrades, out: Path) -> None:
    from mockcheck.grade.statistics import class_statistics
    from mockcheck.report._points_words import status_words
    from mockcheck.report.class_page import class_headline

    click.echo(class_headline(grades, class_statistics(grades)))
    for row in grades.students:
        if status := status_words(row):
            click.echo(f"  {row.student.name}: {status}")
    if grades.likenesses:
        pairs = len(grades.likenesses)
        click.echo(f"  Music in common to ask about: {pairs} pair{'s' if pairs > 1 else ''}.")
    click.echo(f"Written to {out}: sheet.html, sheet.csv, students/", err=True)


def _exit_code(grades: ClassGrades) -> int:
    from mockcheck.cli import EXIT_OUR_BUG, EXIT_UNREADABLE
    from mockcheck.model.finding import Outcome

    works = [row.grade.submission for row in grades.students if row.grade is not None]
    outcomes = (o for work in works for piece in work.pieces for o in piece.record.outcomes)
    if any(outcome.outcome is Outcome.CRASHED for outcome in outcomes):
        return EXIT_OUR_BUG
    if any(fault.is_ours for row in grades.students for fault in row.faults):
        return EXIT_OUR_BUG
    return 0 if grades.graded else EXIT_UNREADABLE
