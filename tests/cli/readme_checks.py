"""`python -m tests.cli.readme_checks` rewrites the list of checks in the README."""

from __future__ import annotations

from pathlib import Path

from mockcheck.checks._registry import all_checks

README = Path(__file__).parent.parent.parent / "README.md"
OPENING, CLOSING = "<!-- checks -->\n", "<!-- /checks -->"


def check_table() -> str:
    """The list of checks as a table."""
    rows = [
        f"| {item.id} | {item.family} | {item.severity.label} | {item.title} |"
        for item in all_checks().values()
    ]
    head = "| check | family | usual severity | what is wrong |\n| --- | --- | --- | --- |"
    return "\n".join([head, *rows]) + "\n"


if __name__ == "__main__":
    text = README.read_text(encoding="utf-8")
    before, _, rest = text.partition(OPENING)
    _, _, after = rest.partition(CLOSING)
    README.write_text(before + OPENING + check_table() + CLOSING + after, encoding="utf-8")
