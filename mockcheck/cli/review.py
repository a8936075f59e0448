"""`mockcheck review`: the main job."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from mockcheck.cli._folder import writable
from mockcheck.cli._many_files import Asked, ManyOptions, many_options, review_many
from mockcheck.cli._options import format_option, session_options
from mockcheck.errors import UnreadableInput

if TYPE_CHECKING:
    from mockcheck.model.review import Review

_SEVERITIES = ("impossible", "risky", "awkward", "remark")
_PLAIN = ("text", "never")
"""--format and --fail-on as they are when nobody sets them."""


@click.command(
    epilog="Example: mockcheck review mockup.mid --brief session.toml --out review/",
)
@click.argument(
    "files", nargs=-1, required=True, type=click.Path(path_type=Path), metavar="FILE_OR_FOLDER..."
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
    " reading), plots/ and notation/. Many files get a folder each, and three tables of all.",
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
@click.option(
    "--all",
    "show_all",
    is_flag=True,
    help="Print every finding, remarks included, and of many files each whole review.",
)
@many_options
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
    **many: Any,
) -> None:
    """Say what players cannot, or should not, be asked to do, with bar, beat and what to do.

    Several files, or all MIDI files of a folder, get a line each; they are reviewed side by side,
    and one that is broken does not stop the others.

    Exit codes: 0 nothing at or above --fail-on; 1 findings; 2 wrong usage or brief; 3 unreadable
    input; 4 a fault of mockcheck. Of many files the highest counts.
    """
    options = ManyOptions(**many)
    if watch:
        is_plain = (output_format, fail_on) == _PLAIN and not options.asks_for_many
        _watch(files, brief, level, out, notation, is_plain=is_plain)
        return
    asked = Asked(output_format, fail_on, out, notation, show_all, write_folder)
    if len(files) > 1 or files[0].is_dir() or options.asks_for_many:
        code = review_many(files, brief, level, asked, options)
    else:
        code = _review_one(files[0], brief, level, asked)
    raise click.exceptions.Exit(code)


def _review_one(path: Path, brief: Path | None, level: str | None, asked: Asked) -> int:
    from mockcheck.cli import EXIT_FINDINGS, EXIT_OUR_BUG, EXIT_UNREADABLE
    from mockcheck.model.finding import Outcome
    from mockcheck.pipeline import review, session_for

    try:
        result = review(path, session_for(brief, level))
    except UnreadableInput as error:
        click.echo(f"mockcheck: {error}", err=True)
        return EXIT_UNREADABLE
    codes = {EXIT_FINDINGS if _is_failure(result, asked.fail_on) else 0}
    if asked.out is not None:
        write_folder(result, asked.out, asked.notation)
    for outcome in result.outcomes:
        if outcome.outcome is Outcome.CRASHED:
            click.echo(f"mockcheck: check {outcome.check} failed:\n{outcome.reason}", err=True)
            codes.add(EXIT_OUR_BUG)
    _print(result, asked.output_format, show_all=asked.show_all)
    if asked.out is not None:
        engraved = _engraved(asked.notation)
        click.echo(
            f"Written to {asked.out}: review.html, review.json, five tables, plots/{engraved}",
            err=True,
        )
    return max(codes)


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
        message = (
            "--watch takes one FILE or folder, and none of --format, --fail-on, --summary and"
            " --scheduler"
        )
        raise click.UsageError(message)
    watch(
        files[0],
        brief,
        out,
        lambda file: review(file, session_for(brief, level)),
        lambda result, folder: write_folder(result, folder, notation),
    )


def _is_failure(result: Review, fail_on: str) -> bool:
    from mockcheck.model.finding import Severity

    worst = result.worst()
    return fail_on != "never" and worst is not None and worst >= Severity[fail_on.upper()]


def _print(result: Review, output_format: str, *, show_all: bool) -> None:
    if output_format == "json":
        from mockcheck.report.review_json import render_json

        click.echo(render_json(result).strip())
    elif output_format == "csv":
        from mockcheck.report.tables import findings_table

        table = findings_table(result)
        table.insert(0, "file", result.played.score.file)
        click.echo(table.to_csv(index=False, lineterminator="\n"), nl=False)
    else:
        import shutil

        from mockcheck.report.terminal import render_terminal

        width = min(shutil.get_terminal_size((100, 24)).columns, 100)
        text = render_terminal(result, colour=sys.stdout.isatty(), width=width, show_all=show_all)
        click.echo(text)


def _engraved(notation: str) -> str:
    from mockcheck.plots.notation import can_engrave

    if notation == "none":
        return ""
    if can_engrave():
        return ", notation/"
    return ". Pictures of notation are left out; `pip install mockcheck[notation]` adds them."


def write_folder(result: Review, folder: Path, notation: str) -> None:
    """Write all reports of one review into a folder; raises BadBrief where that cannot be."""
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
