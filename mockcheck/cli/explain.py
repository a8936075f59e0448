"""`mockcheck explain`: why a check exists and what it measures."""

from __future__ import annotations

import textwrap

import click

from mockcheck.errors import BadBrief


@click.command(epilog="Example: mockcheck explain double-stop-on-one-string")
@click.argument("check", metavar="CHECK")
def command(check: str) -> None:
    """Say why a check exists, what it measures, its limits with units, and its source."""
    from mockcheck.checks._registry import all_checks

    item = all_checks().get(check)
    if item is None:
        message = f"there is no check '{check}'. `mockcheck checks` lists them."
        raise BadBrief(message)
    click.echo(f"{item.id} ({item.family}, {item.severity.label})\n{item.title}")
    for label, text in item.explanation().items():
        click.echo(f"\n{label}")
        click.echo(textwrap.fill(text, 96, initial_indent="  ", subsequent_indent="  "))
    click.echo("\nLimits (change them in a brief under [checks." + item.id + "])")
    for name, field in item.params.model_fields.items():
        extra = field.json_schema_extra
        assert isinstance(extra, dict)
        click.echo(f"  {name} = {field.default} {extra['unit']}: {field.description}")
        click.echo(f"      source: {extra['source']}")
