"""Plain tables for the terminal."""

from __future__ import annotations

from collections.abc import Sequence

Cell = str | int | float


def table(title: str, head: Sequence[str], rows: Sequence[Sequence[Cell]]) -> str:
    """A title and columns; the first is text, numbers stand right."""
    cells = [list(head), *([_text(cell) for cell in row] for row in rows)]
    widths = [max(len(row[column]) for row in cells) for column in range(len(head))]
    lines = [
        "  ".join(
            cell.ljust(width) if column == 0 else cell.rjust(width)
            for column, (cell, width) in enumerate(zip(row, widths, strict=True))
        ).rstrip()
        for row in cells
    ]
    return "\n".join([title, lines[0], "-" * len(lines[0]), *lines[1:], ""])


def _text(cell: Cell) -> str:
    if isinstance(cell, float):
        return "-" if cell != cell else f"{cell:.3f}"
    return str(cell)
