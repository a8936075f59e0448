"""`mockcheck rehearse`: what to isolate, at which clicks, and how long recording takes."""

from __future__ import annotations

import io
from pathlib import Path
from typing import TYPE_CHECKING

import click

from mockcheck.cli._folder import Made, write_all
from mockcheck.cli._options import format_option, session_options

if TYPE_CHECKING:
    from mockcheck.plan.minutes import Cue, SessionPlan


@click.command(
    epilog="Example: mockcheck rehearse mockup.mid --brief session.toml --practice practice/"
)
@click.argument(
    "files", nargs=-1, required=True, type=click.Path(path_type=Path), metavar="FILE..."
)
@session_options
@click.option(
    "--practice",
    type=click.Path(path_type=Path, file_okay=False),
    help="Folder for a MIDI file of each pass of each spot, with a click on a track of its own (one"
    " folder a file when several are given).",
)
@click.option(
    "--subdivide", is_flag=True, help="Add a soft click between the beats of practice files."
)
@click.option("--wav", is_flag=True, help="Make each practice file audible as a WAV file, too.")
@click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    help="Folder for rehearsal.html, a sheet of one page for the stand, and rehearsal.json (one"
    " folder a file when several are given).",
)
@click.option("--replace", is_flag=True, help="Overwrite files that are there already.")
@format_option("text", "json")
def command(
    files: tuple[Path, ...],
    brief: Path | None,
    level: str | None,
    practice: Path | None,
    subdivide: bool,
    wav: bool,
    out: Path | None,
    replace: bool,
    output_format: str,
) -> None:
    """Say what to rehearse before the takes, at which clicks, who waits, and how long it all takes.

    Several files are put into the order of a session, with breaks.
    """
    from mockcheck.report._rehearsal_words import HEADPHONES

    if (subdivide or wav) and practice is None:
        message = "--subdivide and --wav are about practice files: give --practice DIR as well"
        raise click.UsageError(message)
    folders = _folders(files)
    cues, plan = _plan(files, brief, level)
    made: list[Made] = []
    if practice is not None:
        made.append(("--practice", practice, _practice(folders, cues, subdivide, wav)))
    if out is not None:
        made.append(("--out", out, _sheets(folders, cues, plan)))
    write_all(made, replace=replace)
    _print(plan, output_format)
    for option, folder, names in made:
        told = ", ".join(names) if option == "--out" else f"{len(names)} practice files"
        click.echo(f"Written to {folder}: {told}", err=True)
    if practice is not None:
        click.echo(HEADPHONES, err=True)


def _folders(files: tuple[Path, ...]) -> list[str]:
    """Where the files of each cue go; nothing is put into one folder with another cue's."""
    if len(files) == 1:
        return [""]
    names = [path.name for path in files]
    twice = sorted({name for name in names if names.count(name) > 1})
    if twice:
        message = f"two files are called {twice[0]}; rename one, so that their sheets stay apart"
        raise click.UsageError(message)
    return [f"{name}/" for name in names]


def _plan(
    files: tuple[Path, ...], brief: Path | None, level: str | None
) -> tuple[list[Cue], SessionPlan]:
    from mockcheck.pipeline import review, session_for
    from mockcheck.plan.minutes import cue_of, plan_session
    from mockcheck.plan.rehearsal import plan_rehearsal

    session = session_for(brief, level)
    assumed = session.session_time
    cues = [cue_of(plan_rehearsal(review(path, session)), assumed) for path in files]
    return cues, plan_session(cues, assumed)


def _sheets(folders: list[str], cues: list[Cue], plan: SessionPlan) -> dict[str, bytes]:
    from mockcheck.report.rehearsal import render_rehearsal_json
    from mockcheck.report.rehearsal_page import render_rehearsal_page

    made = {
        f"{folder}rehearsal.html": render_rehearsal_page(cue).encode()
        for folder, cue in zip(folders, cues, strict=True)
    }
    return made | {"rehearsal.json": render_rehearsal_json(plan).encode()}


def _practice(
    folders: list[str],
    cues: list[Cue],
    subdivide: bool,
    wav: bool,
) -> dict[str, bytes]:
    from mockcheck.export.practice import practice_files
    from mockcheck.export.practice_sound import wav_bytes

    made = {}
    for folder, cue in zip(folders, cues, strict=True):
        for practice in practice_files(cue.rehearsal, subdivide=subdivide):
            buffer = io.BytesIO()
            practice.midi.save(file=buffer)
            made[f"{folder}{practice.name}.mid"] = buffer.getvalue()
            if wav:
                made[f"{folder}{practice.name}.wav"] = wav_bytes(practice.midi)
    return made


def _print(plan: SessionPlan, output_format: str) -> None:
    from mockcheck.report.rehearsal import render_rehearsal, render_rehearsal_json

    if output_format == "json":
        click.echo(render_rehearsal_json(plan), nl=False)
    else:
        import shutil

        width = min(shutil.get_terminal_size((100, 24)).columns, 100)
        click.echo(render_rehearsal(plan, width))
