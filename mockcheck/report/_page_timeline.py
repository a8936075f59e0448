"""The whole cue on the page: the layout of plots/overview as SVG whose marks lead to findings."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from html import escape

from markupsafe import Markup

from mockcheck.model.finding import Finding
from mockcheck.model.words import count_of, place_words, printable, shortened
from mockcheck.plots._columns import Column
from mockcheck.plots._marks import Mark
from mockcheck.plots.overview import PANEL_WIDTH_IN, OverviewLayout, OverviewRow
from mockcheck.report._page_svg import LETTER_PX, Across, drawing, px, steps, tag, words

_PX_PER_IN = 92
"""So that what the layout places an inch apart does not touch here either."""
_NAMES_PX, _LEFT_PX, _RIGHT_PX = 132, 10, 76
_SIGNS_PX, _TEMPO_PX, _ROW_PX, _AXIS_PX = 30, 44, 50, 24
_MARK_Y, _LOWER_MARK_Y, _CELL_TOP, _CELL_BOTTOM, _SLIDE_Y = 12, 22, 29, 40, 45
_COVERED_PX = 9
"""A mark this near to a worse one would lie under it, so it is drawn lower."""
_BOTTOM_PX = 6
_LONGEST_NAME = 20
SHADES = 6


@dataclass(frozen=True)
class Timeline:
    """The names of the rows, and beside them the music; `shades` explains the shading.

    `shades` holds, from light to dark, the number of strokes a second up to which each is used.
    """

    names: Markup
    music: Markup
    shades: tuple[str, ...]
    remarks: tuple[str, ...]


def draw_timeline(layout: OverviewLayout, number_of: Mapping[str, int]) -> Timeline:
    """The overview; `number_of` gives each finding's place in the page's list by its id."""
    width = PANEL_WIDTH_IN * _PX_PER_IN
    across = Across(layout.axis, _LEFT_PX, width)
    signs = _SIGNS_PX if layout.signs else 0
    tempo = _TEMPO_PX if layout.tempo else 0
    top = signs + tempo + _AXIS_PX
    bottom = top + _ROW_PX * len(layout.rows)
    busiest = layout.busiest
    height = bottom + _BOTTOM_PX
    body = [across.ruled(top, bottom), *_signs(layout, across, bottom), *_bars(across, top)]
    body += _tempo(layout, across, signs)
    for place, row in enumerate(layout.rows):
        body += _row(row, across, top + _ROW_PX * place, busiest, number_of)
    body.append(tag("path", d=f"M{_LEFT_PX} {px(bottom)}h{px(width)}", class_="rule"))
    label = f"{count_of(len(layout.rows), 'track')} over the {layout.axis.unit}s of the cue"
    return Timeline(
        names=_names(layout, signs, top, height),
        music=drawing(_LEFT_PX + width + _RIGHT_PX, height, body, label, has_links=True),
        shades=tuple(f"{busiest * level / SHADES:.1f}" for level in range(1, SHADES + 1))
        if busiest
        else (),
        remarks=layout.remarks,
    )


def _names(layout: OverviewLayout, signs: float, top: float, height: float) -> Markup:
    right = _NAMES_PX - 8
    lines = [words(layout.axis.unit, right, top - 8, class_="side")]
    if layout.tempo:
        lines.append(words("quarter =", right, signs + 28, class_="side"))
    for place, row in enumerate(layout.rows):
        y = top + _ROW_PX * place
        lines.append(tag("path", d=f"M0 {px(y)}h{_NAMES_PX}", class_="rule"))
        name = escape(shortened(row.label, _LONGEST_NAME)) + f"<title>{escape(row.label)}</title>"
        lines.append(tag("text", name, x=right, y=y + 31, class_="name"))
    return drawing(_NAMES_PX, height, lines, "Names of the tracks")


def _bars(across: Across, top: float) -> Iterator[str]:
    for tick in across.axis.ticks():
        yield words(f"{tick:,}", across.x(tick), top - 8, class_="tick")


def _signs(layout: OverviewLayout, across: Across, bottom: float) -> Iterator[str]:
    for sign in layout.signs:
        x = across.x(sign.left)
        width = LETTER_PX * 1.1 * len(sign.text) + 10
        yield tag("path", d=f"M{px(x)} 22V{px(bottom)}", class_="sign-line")
        yield tag("rect", x=x, y=3, width=width, height=19, class_="sign")
        yield words(sign.text, x + 5, 17, class_="sign-words")


def _tempo(layout: OverviewLayout, across: Across, top: float) -> Iterator[str]:
    if not layout.tempo:
        return
    values = [step.value for step in layout.tempo]
    low, room = min(values), max(max(values) - min(values), 0.1 * max(values))
    # Room above the line for its numbers.
    heights = [top + 38 - 16 * (value - low) / room for value in values]
    yield tag("path", d=steps(across, layout.tempo, heights), class_="line")
    height_of = dict(zip((step.left for step in layout.tempo), heights, strict=True))
    for label in layout.tempo_labels:
        y = height_of[label.left] - 4
        yield words(label.text, across.x(label.left) + 3, y, class_="small haloed")


def _row(
    row: OverviewRow,
    across: Across,
    top: float,
    busiest: float,
    number_of: Mapping[str, int],
) -> Iterator[str]:
    """One track: shades, slides and marks; `busiest` is what the darkest shade stands for."""
    yield tag("path", d=f"M{_LEFT_PX} {px(top)}h{px(across.width)}", class_="rule")
    by_level: dict[int, list[Column]] = {}
    for column in row.density:
        level = min(math.ceil(SHADES * column.value / busiest), SHADES)
        by_level.setdefault(level, []).append(column)
    for level, columns in sorted(by_level.items()):
        cells = "".join(
            f"M{px(across.x(left))} {px(top + _CELL_TOP)}H{px(across.x(right))}"
            f"v{_CELL_BOTTOM - _CELL_TOP}H{px(across.x(left))}z"
            for left, right in _joined(columns)
        )
        yield tag("path", d=cells, class_=f"d{level}")
    if row.slides:
        middles = [across.x((slide.left + slide.right) / 2) for slide in row.slides]
        slants = "".join(f"M{px(x - 3)} {px(top + _SLIDE_Y + 3)}l6 -6" for x in middles)
        yield tag("path", d=slants, class_="slide")
    yield from _marks(row, across, top, number_of)


def _joined(columns: list[Column]) -> list[tuple[float, float]]:
    """Neighbours of one shade as one stretch."""
    stretches: list[tuple[float, float]] = []
    for column in columns:
        if stretches and stretches[-1][1] == column.left:
            stretches[-1] = (stretches[-1][0], column.right)
        else:
            stretches.append((column.left, column.right))
    return stretches


def _marks(
    row: OverviewRow, across: Across, top: float, number_of: Mapping[str, int]
) -> Iterator[str]:
    beside, lower = _labels(row, across), _lower(row, across)
    # The worst comes first in the layout and last on the paper, on top of the others.
    for place, mark in reversed(list(enumerate(row.marks))):
        left, right = across.x(mark.left), across.x(mark.right)
        y = top + (_LOWER_MARK_Y if place in lower else _MARK_Y)
        inside = [f"<title>{escape(_mark_words(mark))}</title>"]
        if right > left + 1:
            inside.append(tag("path", d=f"M{px(left)} {px(y)}H{px(right)}"))
        inside.append(f'<use href="#s{int(mark.severity)}" x="{px(left)}" y="{px(y)}"/>')
        if place in beside:
            inside.append(words(mark.severity.label, left + 8, y - 3, class_="small haloed"))
        numbers = " ".join(str(number_of[finding.id]) for finding in mark.findings)
        accepted = " accepted" if mark.is_accepted else ""
        yield tag(
            "a",
            "".join(inside),
            href=f"#f-{mark.findings[0].id}",
            class_=f"mark s{int(mark.severity)}{accepted}",
            tabindex="-1",
            data_n=numbers,
            data_row=str(row.row),
        )


def _lower(row: OverviewRow, across: Across) -> set[int]:
    """Marks that a worse one at the same place would cover."""
    upper: list[float] = []
    lower: set[int] = set()
    for place, mark in enumerate(row.marks):
        x = across.x(mark.left)
        if any(abs(x - other) < _COVERED_PX for other in upper):
            lower.add(place)
        else:
            upper.append(x)
    return lower


def _labels(row: OverviewRow, across: Across) -> set[int]:
    """Marks that have room for their severity's name before the next mark."""
    places = sorted((across.x(mark.left), place) for place, mark in enumerate(row.marks))
    edge = across.left + across.width + _RIGHT_PX
    after = [*(x for x, _ in places[1:]), edge]
    return {
        place
        for (x, place), next_x in zip(places, after, strict=False)
        if next_x - x > LETTER_PX * len(row.marks[place].severity.label) + 18
    }


def _mark_words(mark: Mark) -> str:
    first: Finding = mark.findings[0]
    accepted = ", accepted" if mark.is_accepted else ""
    more = len(mark.findings) - 1
    rest = f", and {more:,} more near it" if more else ""
    place = place_words(first.start, first.end)
    return f"{printable(first.part)}, {place}: {mark.severity.label}{accepted}{rest}"
