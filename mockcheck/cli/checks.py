"""`mockcheck checks`: the list of checks."""

from __future__ import annotations

import click


@click.command(epilog="Example: mockcheck checks")
def command() -> None:
    """List every check with its family and severity."""
    from mockcheck.checks._registry import all_checks

    for item in all_checks().values():
        click.echo(f"{item.family:9} {item.severity.label:11} {item.id:28} {item.title}")
