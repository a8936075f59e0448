"""`mockcheck review`: the main job."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from mockcheck.cli._folder import writable
from mockcheck.cli._options import format_option, session_options
from mockcheck.errors import BadBrief, UserError

if TYPE_CHECKING:
    from mockcheck.model.review import Review

_SEVERITIES = ("impossible", "risky", "awkward", "remark")
_PLAIN = ("text", "never")
"""--format and --fail-on as they are when nobody sets them."""


@click.command(
    epilog="Example: mockcheck review mockup.mid --brief session.toml --out review/",
)
@click.argument(
    "files", nargs=-1, required=True, type=click.Path(path_type=Path), metavar="FILE..."
)
@session_options
@format_option("text", "json", "csv")
@click.option(
    "--fail-on",
    type=click.Choice([*_SEVERITIES, "never"]),
    default="never",
    show_default=True,
    help="Exit with 1 when a finding is this bad or worse; for scripts.",
)
@click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    help="Folder for review.html, review.json, five tables (findings, tracks, strokes, slides,"
    " reading), plots/ and notation/ (one folder a file when several are given).",
)
@click.option(
    "--notation",
    type=click.Choice(["reading", "all", "none"]),
    default="reading",
    show_default=True,
    help="Which findings get a picture of their bars in --out.",
)
@click.option(
    "--watch",
    is_flag=True,
    help="Review FILE, or each MIDI file of a folder, again whenever it is written, and say what"
    " changed; with --out, watch.html shows the latest review.",
)
@click.option("--all", "show_all", is_flag=True, help="Print every finding, remarks included.")
def command(
    files: tuple[Path, ...],
    brief: Path | None,
    level: str | None,
    output_format: str,
    fail_on: str,
    out: Path | None,
    notation: str,
    watch: bool,
    show_all: bool,
) -> None:
    """Say what players cannot, or should not, be asked to do, with bar, beat and what to do.

    Exit codes: 0 nothing at or above --fail-on; 1 findings; 2 wrong usage or brief; 3 unreadable
    input; 4 a fault of mockcheck.
    """
    from mockcheck.cli import EXIT_FINDINGS, EXIT_OUR_BUG, exit_code_of
    from mockcheck.model.finding import Outcome
    from mockcheck.pipeline import review, session_for

    if watch:
        _watch(files, brief, level, out, notation, is_plain=(output_format, fail_on) == _PLAIN)
        return
    session = session_for(brief, level)
    codes = {0}
    reviews = []
    for path in files:
        try:
            result = review(path, session)
        except BadBrief:
            raise
        except UserError as error:
            click.echo(f"mockcheck: {error}", err=True)
            codes.add(exit_code_of(error))
            continue
        reviews.append(result)
        if out is not None:
            _write_folder(result, out if len(files) == 1 else out / path.name, notation)
        if _is_failure(result, fail_on):
            codes.add(EXIT_FINDINGS)
        for outcome in result.outcomes:
            if outcome.outcome is Outcome.CRASHED:
                click.echo(f"mockcheck: check {outcome.check} failed:\n{outcome.reason}", err=True)
                codes.add(EXIT_OUR_BUG)
    _print(reviews, output_format, many=len(files) > 1, show_all=show_all)
    if out is not None and reviews:
        click.echo(
            f"Written to {out}: review.html, review.json, five tables, plots/{_engraved(notation)}",
            err=True,
        )
    raise click.exceptions.Exit(max(codes))


def _watch(
    files: tuple[Path, ...],
    brief: Path | None,
    level: str | None,
    out: Path | None,
    notation: str,
    *,
    is_plain: bool,
) -> None:
    from mockcheck.cli._watching import watch
    from mockcheck.pipeline import review, session_for

    if len(files) > 1 or not is_plain:
        message = "--watch takes one FILE or folder, and neither --format nor --fail-on"
        raise click.UsageError(message)
    watch(
        files[0],
        brief,
        out,
        lambda file: review(file, session_for(brief, level)),
        lambda result, folder: _write_folder(result, folder, notation),
    )


def _is_failure(result: Review, fail_on: str) -> bool:
    from mockcheck.model.finding import Severity

    worst = result.worst()
    return fail_on != "never" and worst is not None and worst >= Severity[fail_on.upper()]


def _print(reviews: list[Review], output_format: str, *, many: bool, show_all: bool) -> None:
    if output_format == "json":
        from mockcheck.report.review_json import render_json

        texts = [render_json(result).strip() for result in reviews]
        click.echo("[\n" + ",\n".join(texts) + "\n]" if many else "".join(texts))
    elif output_format == "csv":
        import pandas as pd

        from mockcheck.report.tables import findings_table

        tables = {result.played.score.file: findings_table(result) for result in reviews}
        if tables:
            table = pd.concat(tables, names=["file", None]).reset_index("file")
            click.echo(table.to_csv(index=False, lineterminator="\n"), nl=False)
    else:
        import shutil

        from mockcheck.report.terminal import render_terminal

        width = min(shutil.get_terminal_size((100, 24)).columns, 100)
        for result in reviews:
            text = render_terminal(
                result, colour=sys.stdout.isatty(), width=width, show_all=show_all
            )
            click.echo(text)


def _engraved(notation: str) -> str:
    from mockcheck.plots.notation import can_engrave

    if notation == "none":
        return ""
    if can_engrave():
        return ", notation/"
    return ". Pictures of notation are left out; `pip install mockcheck[notation]` adds them."


def _write_folder(result: Review, folder: Path, notation: str) -> None:
    from mockcheck.plots import save_plots
    from mockcheck.plots.notation import save_notation
    from mockcheck.report.page import render_page
    from mockcheck.report.review_json import render_json
    from mockcheck.report.tables import write_tables

    with writable("--out", folder):
        (folder / "review.json").write_text(render_json(result), encoding="utf-8")
        page = render_page(result, engrave=notation != "none")
        (folder / "review.html").write_text(page, encoding="utf-8")
        write_tables(result, folder)
        save_plots(result, folder / "plots")
        if notation != "none":
            save_notation(result, folder / "notation", "all" if notation == "all" else "reading")
