"""Drawings of the page as SVG text: tags, lines of words, steps, and a time axis in pixels.

Everything that comes from a file goes through `tag` or `words`, which escape it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from html import escape

from markupsafe import Markup

from mockcheck.plots._columns import Axis, Column

LETTER_PX = 6.3
"""About the width of a letter of the smallest type on the page, 11 px."""


def tag(name: str, inside: str = "", **attributes: str | float) -> str:
    """One SVG or HTML element; `inside` is markup that is escaped already.

    An underscore in an attribute's name stands for a hyphen; `class_` for `class`.
    """
    written = "".join(
        f' {key.rstrip("_").replace("_", "-")}="{_value(value)}"'
        for key, value in attributes.items()
    )
    return f"<{name}{written}>{inside}</{name}>" if inside else f"<{name}{written}/>"


def _value(value: str | float) -> str:
    return escape(value, quote=True) if isinstance(value, str) else px(value)


def px(value: float) -> str:
    """A coordinate to a tenth of a pixel: '12', '12.5'."""
    return f"{value:.1f}".removesuffix(".0")


def words(text: str, x: float, y: float, **attributes: str | float) -> str:
    """A line of words; `y` is where it stands."""
    return tag("text", escape(text), x=x, y=y, **attributes)


def drawing(
    width: float, height: float, inside: Iterable[str], label: str, *, has_links: bool = False
) -> Markup:
    """A picture with what it shows in words, for whoever does not see it."""
    return Markup(
        tag(
            "svg",
            "".join(inside),
            width=width,
            height=height,
            viewBox=f"0 0 {px(width)} {px(height)}",
            role="group" if has_links else "img",
            aria_label=label,
        )
    )


@dataclass(frozen=True)
class Across:
    """The time axis laid across a drawing; `left` and `width` in px."""

    axis: Axis
    left: float
    width: float

    def x(self, position: float) -> float:
        """Where a place on the axis lies, px; what is off the axis lies on its edge."""
        share = (position - self.axis.first) / (self.axis.after - self.axis.first)
        return self.left + self.width * min(max(share, 0.0), 1.0)

    def ruled(self, top: float, bottom: float) -> str:
        """Thin lines at the numbered bars or seconds."""
        lines = "".join(f"M{px(self.x(tick))} {px(top)}V{px(bottom)}" for tick in self.axis.ticks())
        return tag("path", d=lines, class_="rule")

    def numbers(self, y: float) -> str:
        """The numbers of bars or seconds, and the unit before the first."""
        ticks = [words(f"{tick:,}", self.x(tick), y, class_="tick") for tick in self.axis.ticks()]
        return words(self.axis.unit, self.left - 10, y, class_="side") + "".join(ticks)


def steps(across: Across, columns: Sequence[Column], heights: Sequence[float]) -> str:
    """The path of a line that goes in steps; gaps between columns stay open."""
    path: list[str] = []
    before = None
    for column, height in zip(columns, heights, strict=True):
        start = f"V{px(height)}" if column.left == before else f"M{px(across.x(column.left))} "
        path.append(start if column.left == before else start + px(height))
        path.append(f"H{px(across.x(column.right))}")
        before = column.right
    return "".join(path)


def blocks(
    across: Across, columns: Sequence[Column], heights: Sequence[float], floor: float
) -> str:
    """The path of filled columns that stand on, or hang from, a floor."""
    return "".join(
        f"M{px(across.x(c.left))} {px(floor)}V{px(height)}H{px(across.x(c.right))}V{px(floor)}z"
        for c, height in zip(columns, heights, strict=True)
    )
