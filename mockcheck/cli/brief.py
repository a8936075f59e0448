"""`mockcheck brief`: a brief to start from."""

from __future__ import annotations

from pathlib import Path

import click

from mockcheck.cli._options import midi_file, session_options


@click.command(epilog="Example: mockcheck brief mockup.mid > session.toml")
@midi_file
@session_options
def command(file: Path, brief: Path | None, level: str | None) -> None:
    """Print a starter brief with every guess filled in, for you to correct."""
    from mockcheck.pipeline import play, session_for
    from mockcheck.read import load
    from mockcheck.report.brief import render_brief

    played = play(load(file), session_for(brief, level))
    click.echo(render_brief(played), nl=False)
