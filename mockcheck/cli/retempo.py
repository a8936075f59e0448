"""`mockcheck retempo`: how fast a cue goes, and what another tempo changes."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from mockcheck.cli._folder import writable
from mockcheck.cli._options import format_option, midi_file, session_options
from mockcheck.errors import BadBrief

if TYPE_CHECKING:
    from mockcheck.model.score import Score
    from mockcheck.plan.retempo import TempoAnswer

_SLOWEST_BPM, _FASTEST_BPM = 5, 600
_LEAST_PERCENT, _MOST_PERCENT = -90, 300


@click.command(epilog="Example: mockcheck retempo mockup.mid --at 132")
@midi_file
@session_options
@click.option(
    "--at",
    "tempos_bpm",
    type=click.FloatRange(_SLOWEST_BPM, _FASTEST_BPM),
    multiple=True,
    metavar="BPM",
    help="Ask about this first tempo, in quarter notes a minute; all others scale alike. May be"
    " given more than once.",
)
@click.option(
    "--by",
    "percents",
    type=click.FloatRange(_LEAST_PERCENT, _MOST_PERCENT),
    multiple=True,
    metavar="PERCENT",
    help="Ask about this much faster, or slower when negative. May be given more than once."
    " [default: 2, 5, 10, 15, 20, -5, -10, -20]",
)
@click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    help="Folder for retempo.json, retempo.csv and headroom.png.",
)
@format_option("text", "json", "csv")
def command(
    file: Path,
    brief: Path | None,
    level: str | None,
    tempos_bpm: tuple[float, ...],
    percents: tuple[float, ...],
    out: Path | None,
    output_format: str,
) -> None:
    """Say how fast a cue goes at each level, which bars decide, and what breaks or opens.

    All tempos of the file are scaled alike. The answer is about speed alone.
    """
    from mockcheck.pipeline import play, session_for
    from mockcheck.plan.retempo import USUAL_STEPS, answer_tempo
    from mockcheck.read import load

    if tempos_bpm and percents:
        message = "give --at or --by, not both"
        raise click.UsageError(message)
    played = play(load(file), session_for(brief, level))
    factors = [1 + percent / 100 for percent in percents] or _factors(played.score, tempos_bpm)
    answer = answer_tempo(played, factors or USUAL_STEPS)
    _print(answer, output_format)
    if out is not None:
        _write_folder(answer, out)
        click.echo(f"Written to {out}: retempo.json, retempo.csv, headroom.png", err=True)


def _factors(score: Score, tempos_bpm: tuple[float, ...]) -> list[float]:
    written = score.tempo_map.bpm_at(0)
    if tempos_bpm and written is None:
        message = (
            f"--at: {score.file} counts frames and names no tempo, so there is none to replace."
            " Use --by with a percentage."
        )
        raise BadBrief(message)
    return [bpm / written for bpm in tempos_bpm] if written is not None else []


def _print(answer: TempoAnswer, output_format: str) -> None:
    from mockcheck.report.retempo import render_retempo, render_retempo_json, retempo_table

    if output_format == "json":
        click.echo(render_retempo_json(answer), nl=False)
    elif output_format == "csv":
        click.echo(retempo_table(answer).to_csv(index=False, lineterminator="\n"), nl=False)
    else:
        import shutil

        width = min(shutil.get_terminal_size((100, 24)).columns, 100)
        click.echo(render_retempo(answer, width))


def _write_folder(answer: TempoAnswer, folder: Path) -> None:
    from mockcheck.plots.headroom import save_headroom
    from mockcheck.report.retempo import render_retempo_json, retempo_table

    with writable("--out", folder):
        (folder / "retempo.json").write_text(render_retempo_json(answer), encoding="utf-8")
        retempo_table(answer).to_csv(
            folder / "retempo.csv", index=False, encoding="utf-8", lineterminator="\n"
        )
        save_headroom(answer, folder / "headroom.png")
