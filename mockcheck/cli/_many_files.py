"""`mockcheck review` of a folder or of several files: a line a file, tables, and statistics."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from mockcheck.cli._folder import writable
from mockcheck.cli._options import side_by_side_options
from mockcheck.cli._progress import progress

if TYPE_CHECKING:
    from mockcheck.archive.cache import Cache
    from mockcheck.archive.files import FoundFile
    from mockcheck.archive.reviewing import Outcome
    from mockcheck.archive.tables import RunTables
    from mockcheck.model.review import Review


@dataclass(frozen=True)
class ManyOptions:
    """What only a run over many files can be told."""

    processes: int | None
    timeout_s: float
    summary: bool
    scheduler: str | None
    no_cache: bool
    tables: str

    @property
    def asks_for_many(self) -> bool:
        """Whether even a single file is to be treated as a run over many."""
        return self.summary or self.scheduler is not None


@dataclass(frozen=True)
class Asked:
    """What every review can be told; `write` writes a whole review into a folder."""

    output_format: str
    fail_on: str
    out: Path | None
    notation: str
    show_all: bool
    write: Callable[[Review, Path, str], None]


def many_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Add the options of `ManyOptions` to a command."""
    for option in reversed(
        (
            click.option(
                "--summary",
                is_flag=True,
                help="Print statistics instead: how much of what, by check, part, folder and file.",
            ),
            click.option(
                "--tables",
                type=click.Choice(["csv", "parquet"]),
                default="csv",
                show_default=True,
                help="Kind of the tables files, findings and tracks that many files get in --out.",
            ),
            side_by_side_options,
            click.option(
                "--scheduler",
                metavar="ADDRESS",
                help="Review on the workers of a running Dask cluster, as tcp://host:8786; --out"
                " then has tables only.",
            ),
        )
    ):
        command = option(command)
    return command


def review_many(
    given: Sequence[Path],
    brief: Path | None,
    level: str | None,
    asked: Asked,
    many: ManyOptions,
) -> int:
    """Review every file, print and write what was asked for, and return the exit code."""
    from mockcheck.archive.files import find_files
    from mockcheck.archive.reviewing import review_files
    from mockcheck.archive.tables import require_parquet, run_tables
    from mockcheck.pipeline import session_for

    session = session_for(brief, level)
    if many.tables == "parquet":
        if asked.out is None:
            message = "--tables parquet: name a folder for them with --out"
            raise click.UsageError(message)
        require_parquet()
    found = find_files(given, asked.out)
    _tell_passed_over(found.passed_over)
    if asked.out is not None:
        with writable("--out", asked.out):
            pass
    cache = _cache(many)
    with progress(len(found.files)) as step:
        outcomes = review_files(
            found.files,
            session,
            extra=_extra(found.files, asked, many),
            processes=many.processes,
            timeout_s=many.timeout_s,
            cache=cache,
            scheduler=many.scheduler,
            on_done=step,
        )
    if cache is not None and cache.trouble is not None:
        click.echo(f"mockcheck: the cache could not be kept ({cache.trouble})", err=True)
    _tell_unused(outcomes)
    codes = {code for outcome in outcomes for code in _codes(outcome, asked.fail_on)}
    needs_tables = many.summary or asked.out is not None or asked.output_format == "csv"
    tables = run_tables(outcomes, session.middle_c_octave) if needs_tables else None
    if tables is not None and many.summary:
        click.echo(_summary(tables, asked.output_format, asked.show_all), nl=False)
    elif tables is not None and asked.output_format == "csv":
        click.echo(tables.findings.to_csv(index=False, lineterminator="\n"), nl=False)
    else:
        _print_reviews(outcomes, asked)
    if tables is not None and asked.out is not None:
        _write(tables, asked.out, many, has_folders=_has_folders(asked, many))
    return max(codes, default=0)


@dataclass(frozen=True)
class _Maker:
    """What a worker makes of each review while it has the notes; goes to it by pickle."""

    asked: Asked
    width: int
    colour: bool
    folders: dict[Path, Path]

    def __call__(self, review: Review, file: FoundFile) -> str:
        if file.path in self.folders:
            self.asked.write(review, self.folders[file.path], self.asked.notation)
        if self.asked.output_format == "json":
            from mockcheck.report.review_json import render_json

            return render_json(review, file.name).strip()
        if self.asked.output_format == "text" and self.asked.show_all:
            from mockcheck.report.terminal import render_terminal

            return render_terminal(review, colour=self.colour, width=self.width, show_all=True)
        return ""


def _extra(files: Sequence[FoundFile], asked: Asked, many: ManyOptions) -> _Maker | None:
    from mockcheck.archive.files import result_folders

    folders = {}
    if asked.out is not None and _has_folders(asked, many):
        places = zip(files, result_folders(files), strict=True)
        folders = {file.path: asked.out / place for file, place in places}
    needs_text = not many.summary and (
        asked.output_format == "json" or (asked.output_format == "text" and asked.show_all)
    )
    if not folders and not needs_text:
        return None
    return _Maker(asked, _width(), sys.stdout.isatty(), folders)


def _has_folders(asked: Asked, many: ManyOptions) -> bool:
    """Whether each file gets a folder with its whole review; a cluster cannot reach our disk."""
    return asked.out is not None and not many.summary and many.scheduler is None


def _cache(many: ManyOptions) -> Cache | None:
    if many.no_cache:
        return None
    from mockcheck.archive.cache import Cache, default_folder

    return Cache(default_folder())


def _tell_passed_over(paths: Sequence[Path]) -> None:
    if paths:
        from mockcheck.model.words import count_of, printable

        click.echo(
            f"mockcheck: passed over {count_of(len(paths), 'file')} that mockcheck made, such as"
            f" {printable(paths[0].name)}; name a file itself to review it.",
            err=True,
        )


def _tell_unused(outcomes: Sequence[Outcome]) -> None:
    """Say which acceptances of the brief fit nothing in any file; each file alone may lack some."""
    from mockcheck.model.words import printable

    records = [o.done.value.record for o in outcomes if o.done.value is not None]
    unused = [{u.acceptance for u in record.unused_acceptances} for record in records]
    for acceptance in sorted(set.intersection(*unused) if unused else (), key=lambda a: a.words):
        words = printable(f"{acceptance.words} ({acceptance.reason})")
        click.echo(f"mockcheck: accepted by the brief, but in none of the files: {words}", err=True)


def _codes(outcome: Outcome, fail_on: str) -> Iterator[int]:
    """Exit codes that one file asks for; what is wrong is said on stderr."""
    from mockcheck.archive.pool import Kind
    from mockcheck.cli import EXIT_FINDINGS, EXIT_OUR_BUG, EXIT_UNREADABLE, EXIT_USAGE
    from mockcheck.model.finding import Outcome as CheckState
    from mockcheck.model.finding import Severity

    done = outcome.done
    if done.value is None:
        click.echo(f"mockcheck: {_fault_words(outcome)}", err=True)
        refused = EXIT_UNREADABLE if done.is_unreadable else EXIT_USAGE
        yield refused if done.kind is Kind.REFUSED else EXIT_OUR_BUG
        return
    record = done.value.record
    for check in record.outcomes:
        if check.outcome is CheckState.CRASHED:
            reason = check.reason.strip().rpartition("\n")[2]
            name = outcome.file.name
            click.echo(f"mockcheck: {name}: check {check.check} failed: {reason}", err=True)
            yield EXIT_OUR_BUG
    worst = record.worst()
    if fail_on != "never" and worst is not None and worst >= Severity[fail_on.upper()]:
        yield EXIT_FINDINGS


def _fault_words(outcome: Outcome) -> str:
    from mockcheck.archive.pool import Kind

    done, name = outcome.done, outcome.file.name
    if done.kind is Kind.CRASHED:
        return (
            f"{name}: this is a fault of mockcheck, not of your file ({done.fault}). Please report"
            " it with these words and, if you can, the file."
        )
    if done.kind is Kind.STOPPED:
        return f"{name}: {done.fault}. Give each file longer with --timeout, or fewer bars."
    # A message that begins with the file's own name gets the one that tells it from others.
    own, fault = outcome.file.path.name, done.fault or ""
    rest = fault.removeprefix(own)
    return f"{name}{rest}" if rest != fault else f"{name}: {fault}"


def _print_reviews(outcomes: Sequence[Outcome], asked: Asked) -> None:
    if asked.output_format == "json" or asked.show_all:
        texts = [o.done.value.extra for o in outcomes if o.done.value is not None]
        is_json = asked.output_format == "json"
        click.echo("[\n" + ",\n".join(texts) + "\n]" if is_json else "\n".join(texts))
    else:
        from mockcheck.archive.overview import overview_text

        click.echo(overview_text(outcomes, _width()))


def _summary(tables: RunTables, output_format: str, show_all: bool) -> str:
    from mockcheck.archive.summary import summarise_run, summary_csv, summary_json, summary_text

    summary = summarise_run(tables)
    if output_format == "json":
        return summary_json(summary)
    if output_format == "csv":
        return summary_csv(summary)
    return f"{summary_text(summary, show_all=show_all)}\n"


def _write(tables: RunTables, out: Path, many: ManyOptions, *, has_folders: bool) -> None:
    from mockcheck.archive.tables import write_run_tables

    with writable("--out", out):
        names = [path.name for path in write_run_tables(tables, out, many.tables)]
        if many.summary:
            for kind in ("csv", "json"):
                text = _summary(tables, kind, show_all=True)
                (out / f"summary.{kind}").write_text(text, encoding="utf-8")
                names.append(f"summary.{kind}")
    folders = ", and a folder for each file with its whole review" if has_folders else ""
    click.echo(f"Written to {out}: {', '.join(names)}{folders}.", err=True)


def _width() -> int:
    import shutil

    return min(shutil.get_terminal_size((100, 24)).columns, 100)
