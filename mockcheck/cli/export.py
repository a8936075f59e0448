"""`mockcheck export`: files made from a review, for the sequencer, the copyist and the players."""

from __future__ import annotations

from pathlib import Path

import click

from mockcheck.cli._folder import write_all
from mockcheck.cli._options import midi_file, session_options


@click.command(
    epilog="Example: mockcheck export mockup.mid --players-copy --page-notes --out made/"
)
@midi_file
@session_options
@click.option(
    "--markers",
    "wanted",
    flag_value="markers",
    multiple=True,
    help="A MIDI file of tempo, metre and one marker for each place with findings, to import on top"
    " of the project.",
)
@click.option(
    "--spotting",
    "wanted",
    flag_value="spotting",
    multiple=True,
    help="A table of the findings with bar, beat and timecode (the brief names frame rate and"
    " start).",
)
@click.option(
    "--booth",
    "wanted",
    flag_value="booth",
    multiple=True,
    help="What the booth has to prepare: pre-records in the headphones, how many headphones,"
    " players and desks of each section against its divisi.",
)
@click.option(
    "--players-copy",
    "wanted",
    flag_value="players-copy",
    multiple=True,
    help="The music with runs thinned, chords divided over tracks, needless slides and left-over"
    " bends taken out, and a list of every change.",
)
@click.option(
    "--page-notes",
    "wanted",
    flag_value="page-notes",
    multiple=True,
    help="What to mark in each part, as text and as a table: strokes, slurs, mutes, divisi,"
    " dynamics; what is not sure is asked.",
)
@click.option(
    "--musicxml",
    "wanted",
    flag_value="musicxml",
    multiple=True,
    help="The score as MusicXML, spelled to be read.",
)
@click.option(
    "--spots",
    "wanted",
    flag_value="spots",
    multiple=True,
    help="The bars of each finding, remarks left out, as a MusicXML file each, with fingers where"
    " the hand is the question.",
)
@click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    required=True,
    help="Folder for the files; made when it is missing.",
)
@click.option("--replace", is_flag=True, help="Overwrite files that are there already.")
def command(
    file: Path,
    brief: Path | None,
    level: str | None,
    wanted: tuple[str, ...],
    out: Path,
    replace: bool,
) -> None:
    """Write what the next person needs, from markers to notation; name one thing or several.

    The mock-up itself is never changed.
    """
    from mockcheck.export.spotting import timecode_note
    from mockcheck.pipeline import review, session_for
    from mockcheck.report.handouts import HANDOUTS

    if not wanted:
        names = ", ".join(f"--{name}" for name in HANDOUTS)
        message = f"nothing to write was named; give one or more of {names}"
        raise click.UsageError(message)
    result = review(file, session_for(brief, level))
    content = file.read_bytes()
    made = {
        f"{file.stem}.{name}": data
        for choice in dict.fromkeys(wanted)
        for name, data in HANDOUTS[choice](result, content)
    }
    write_all([("--out", out, made)], replace=replace)
    if "spotting" in wanted:
        click.echo(timecode_note(result), err=True)
    for name in made:
        click.echo(out / name)
