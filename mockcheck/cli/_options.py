"""Options that several commands share."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

_TIMEOUT_S = 300.0

midi_file = click.argument("file", type=click.Path(path_type=Path))
brief_option = click.option(
    "--brief",
    type=click.Path(path_type=Path),
    help="TOML file about the session; `mockcheck brief FILE` prints one to start from.",
)
level_option = click.option(
    "--level",
    metavar="NAME",
    help="How well prepared the players are: sight, rehearsed, solo, or a level that the brief"
    " names; wins over the brief. [default: sight]",
)


def session_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Add --brief and --level."""
    return brief_option(level_option(command))


def format_option(*formats: str) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """Add --format with these choices; the first is the default."""
    return click.option(
        "--format",
        "output_format",
        type=click.Choice(formats),
        default=formats[0],
        show_default=True,
        help="What to print.",
    )


def side_by_side_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Add --processes, --timeout and --no-cache, for runs over many files."""
    for option in (
        click.option(
            "--no-cache",
            is_flag=True,
            help="Of many files, neither use nor keep what was found before.",
        ),
        click.option(
            "--timeout",
            "timeout_s",
            type=click.FloatRange(min=0, min_open=True),
            metavar="SECONDS",
            default=_TIMEOUT_S,
            show_default=True,
            help="Of many files, how long each may take.",
        ),
        click.option(
            "--processes",
            type=click.IntRange(min=1),
            metavar="N",
            help="Of many files, how many are reviewed side by side. [default: one a core]",
        ),
    ):
        command = option(command)
    return command
