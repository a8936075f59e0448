"""`mockcheck compare`: what a revision cured, what it left, and what it brought in."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from mockcheck.cli._folder import writable
from mockcheck.cli._options import format_option, session_options

if TYPE_CHECKING:
    from mockcheck.plan.compare import Comparison


@click.command(
    epilog="Example: mockcheck compare cue_v1.mid cue_v2.mid --brief session.toml --gate"
)
@click.argument("old", type=click.Path(path_type=Path))
@click.argument("new", type=click.Path(path_type=Path))
@session_options
@click.option(
    "--old-brief",
    type=click.Path(path_type=Path),
    help="Brief for OLD where it needs another one. [default: that of NEW]",
)
@format_option("text", "json")
@click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    help="Folder for compare.html and compare.json.",
)
@click.option("--gate", is_flag=True, help="Exit with 1 when anything is new; for scripts.")
@click.option(
    "--fail-on",
    type=click.Choice(["impossible", "risky", "awkward", "remark"]),
    help="With --gate: only when something new is this bad or worse. [default: remark]",
)
@click.option("--all", "show_all", is_flag=True, help="Print every finding.")
def command(
    old: Path,
    new: Path,
    brief: Path | None,
    level: str | None,
    old_brief: Path | None,
    output_format: str,
    out: Path | None,
    gate: bool,
    fail_on: str | None,
    show_all: bool,
) -> None:
    """Say which findings of the file OLD are fixed in NEW, which are still there, which are new.

    Findings are known again by their music: bars may have come in or gone, parts may be renamed
    or transposed, and the tempo may be another. Exit codes: 0; 1 with --gate when something is
    new; 2 wrong usage or brief; 3 unreadable input; 4 a fault of mockcheck.
    """
    from mockcheck.cli import EXIT_FINDINGS
    from mockcheck.model.finding import Severity
    from mockcheck.pipeline import review, session_for
    from mockcheck.plan.compare import compare_reviews

    if fail_on is not None and not gate:
        message = "--fail-on says how bad a new finding must be for --gate; give --gate too"
        raise click.UsageError(message)
    session = session_for(brief, level)
    before = session if old_brief is None else session_for(old_brief, level)
    comparison = compare_reviews(review(old, before), review(new, session))
    _print(comparison, output_format, show_all=show_all)
    if out is not None:
        _write_folder(comparison, out)
        click.echo(f"Written to {out}: compare.html, compare.json", err=True)
    if gate and comparison.has_new(Severity[(fail_on or "remark").upper()]):
        raise click.exceptions.Exit(EXIT_FINDINGS)


def _print(comparison: Comparison, output_format: str, *, show_all: bool) -> None:
    from mockcheck.report.compare import render_compare, render_compare_json

    if output_format == "json":
        click.echo(render_compare_json(comparison), nl=False)
    else:
        import shutil

        width = min(shutil.get_terminal_size((100, 24)).columns, 100)
        click.echo(render_compare(comparison, width, show_all=show_all))


def _write_folder(comparison: Comparison, folder: Path) -> None:
    from mockcheck.report.compare import render_compare_json
    from mockcheck.report.compare_page import render_compare_page

    with writable("--out", folder):
        (folder / "compare.html").write_text(render_compare_page(comparison), encoding="utf-8")
        (folder / "compare.json").write_text(render_compare_json(comparison), encoding="utf-8")
