"""`mockcheck export`: files made from a review, for the sequencer, the copyist and the players."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

from mockcheck.cli._folder import write_all
from mockcheck.cli._options import midi_file, session_options

if TYPE_CHECKING:
    import mido

    from mockcheck.model.review import Review

Files = Iterator[tuple[str, bytes]]
"""Names to go behind the name of the mock-up, and contents."""


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
    from mockcheck.pipeline import review, session_for

    if not wanted:
        names = ", ".join(f"--{name}" for name in _WRITERS)
        message = f"nothing to write was named; give one or more of {names}"
        raise click.UsageError(message)
    result = review(file, session_for(brief, level))
    content = file.read_bytes()
    made = {
        f"{file.stem}.{name}": data
        for choice in dict.fromkeys(wanted)
        for name, data in _WRITERS[choice](result, content)
    }
    write_all([("--out", out, made)], replace=replace)
    for name in made:
        click.echo(out / name)


def _markers(review: Review, _: bytes) -> Files:
    from mockcheck.export.markers import marker_file

    yield "markers.mid", _midi(marker_file(review))


def _spotting(review: Review, _: bytes) -> Files:
    from mockcheck.export.spotting import spotting_csv, timecode_note

    note = timecode_note(review)
    if note:
        click.echo(note, err=True)
    yield "spotting.csv", spotting_csv(review).encode()


def _booth(review: Review, _: bytes) -> Files:
    from mockcheck.plan.booth import booth
    from mockcheck.report.booth import to_text

    yield "booth.txt", f"{to_text(booth(review))}\n".encode()


def _players_copy(review: Review, content: bytes) -> Files:
    from mockcheck.export.change_list import changes_csv, changes_text
    from mockcheck.export.players_copy import players_copy

    copy = players_copy(review, content)
    yield "players-copy.mid", _midi(copy.midi)
    yield "changes.txt", f"{changes_text(copy.changes, copy.renamed)}\n".encode()
    yield "changes.csv", changes_csv(copy.changes).encode()


def _page_notes(review: Review, _: bytes) -> Files:
    from mockcheck.export.page_notes import page_notes, to_csv, to_text

    notes = page_notes(review)
    yield "page-notes.txt", f"{to_text(notes)}\n".encode()
    yield "page-notes.csv", to_csv(notes).encode()


def _musicxml(review: Review, _: bytes) -> Files:
    from mockcheck.notation import musicxml

    title = Path(review.played.score.file).stem
    yield "musicxml", musicxml(review.played.parts, title).encode()


def _spots(review: Review, _: bytes) -> Files:
    from mockcheck.export.spots import spots

    for name, document in spots(review):
        yield f"{name}.musicxml", document.encode()


_WRITERS: dict[str, Callable[[Review, bytes], Files]] = {
    "markers": _markers,
    "spotting": _spotting,
    "booth": _booth,
    "players-copy": _players_copy,
    "page-notes": _page_notes,
    "musicxml": _musicxml,
    "spots": _spots,
}


def _midi(file: mido.MidiFile) -> bytes:
    buffer = io.BytesIO()
    file.save(file=buffer)
    return buffer.getvalue()
