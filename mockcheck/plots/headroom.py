"""Headroom over the bars: how fast each part could go, at every level, place by place."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from mockcheck.infer.headroom import time_factor
from mockcheck.model.played import PlayedPart
from mockcheck.model.session import Session
from mockcheck.model.words import place_words, printable, shortened
from mockcheck.plan._places import Place, spots
from mockcheck.plan.retempo import Curve, TempoAnswer
from mockcheck.plots._columns import Axis, Column, axis_for

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

LOWEST, HIGHEST = 0.25, 4.0
"""Ends of the ordinate; what lies beyond is drawn on the edge."""

PANEL_WIDTH_IN = 9.75
_KEY_LINES = 10
_KEY_LINE_LENGTH = 150
_NEAREST_IN = 0.2
_LOW = 0.4
"""A mark lower than this has no room for a number under it."""
_DOTS_PER_INCH = 150


@dataclass(frozen=True)
class HeadroomMark:
    """A place that is too fast as written, and its line in the key, 0 for none."""

    left: float
    right: float
    headroom: float
    number: int


@dataclass(frozen=True)
class HeadroomPanel:
    """One part: the tightest movement in each column of bars, and its places.

    `columns` holds the fastest playable tempo over the written one at the session's level;
    columns without notes are left out.
    """

    part: str
    columns: tuple[Column, ...]
    marks: tuple[HeadroomMark, ...]


@dataclass(frozen=True)
class HeadroomLayout:
    """Everything the plot shows, in numbers and words.

    Parameters
    ----------
    levels
        The session's level first, then the others, each with its headroom over the first one's.
    key
        One line for each numbered place, tightest first, then what else there is to say.
    """

    title: str
    subtitle: str
    axis: Axis
    levels: tuple[tuple[str, float], ...]
    panels: tuple[HeadroomPanel, ...]
    key: tuple[str, ...]


def layout_headroom(answer: TempoAnswer) -> HeadroomLayout:
    """What the plot of one answer to the tempo question shows."""
    axis = axis_for(answer.played.parts)
    numbered = spots(place for place in answer.places if not place.plays_at(1.0))
    parts = {part.name: part for part in answer.played.parts}
    curves = {curve.part.name: curve for curve in answer.curves}
    drawn = [
        name for name in parts if name in curves or any(place.part == name for place in numbered)
    ]
    return HeadroomLayout(
        title="How fast each part could go",
        subtitle=_subtitle(answer),
        axis=axis,
        levels=_levels(answer.played.session),
        panels=tuple(
            HeadroomPanel(
                part=printable(name),
                columns=_columns(axis, curves[name]) if name in curves else (),
                marks=_marks(axis, parts[name], numbered),
            )
            for name in drawn
        ),
        key=_key(numbered),
    )


def _levels(own: Session) -> tuple[tuple[str, float], ...]:
    others = [other for other in own.at_each_level() if other.level_name != own.level_name]
    shares = [(other.level_name, time_factor(own) / time_factor(other)) for other in others]
    return ((own.level_name, 1.0), *shares)


def _subtitle(answer: TempoAnswer) -> str:
    words = [printable(answer.played.score.file)]
    for tempo in answer.fastest:
        if tempo.level == answer.played.session.level_name:
            tempos = interval_words(tempo.low, tempo.high, answer.bpm)
            words.append(
                f"at level {tempo.level} the whole cue plays up to {tempos} ({tempo.factor:.0%})"
            )
    return "; ".join(words)


def _columns(axis: Axis, curve: Curve) -> tuple[Column, ...]:
    """The tightest movement in each column."""
    positions = axis.positions(curve.part.timeline, curve.onset_ticks)
    columns = axis.column_of(positions)
    tightest = np.full(int(columns.max()) + 1 if len(columns) else 0, np.inf)
    np.minimum.at(tightest, columns, curve.headroom)
    return tuple(
        Column(*axis.edges(int(column)), float(tightest[column]))
        for column in np.flatnonzero(np.isfinite(tightest))
    )


def _marks(axis: Axis, part: PlayedPart, numbered: Sequence[Place]) -> tuple[HeadroomMark, ...]:
    marks = []
    for number, place in enumerate(numbered, 1):
        if place.part == part.name:
            left, right = (
                axis.position(part.timeline, end.tick) for end in (place.start, place.end)
            )
            shown = number if number <= _KEY_LINES else 0
            marks.append(HeadroomMark(left, right, place.headroom, shown))
    return tuple(marks)


def _key(numbered: Sequence[Place]) -> tuple[str, ...]:
    if not numbered:
        return ("Everything plays as written.",)
    lines = [_key_line(place) for place in numbered[:_KEY_LINES]]
    if len(numbered) > _KEY_LINES:
        lines.append(f"and {len(numbered) - _KEY_LINES:,} more, listed in retempo.csv")
    return tuple(lines)


def _key_line(place: Place) -> str:
    words = f"{place.part}, {place_words(place.start, place.end)}: {plays_up_to(place)}"
    return shortened(printable(f"{words}; {place.binding}"), _KEY_LINE_LENGTH)


def plays_up_to(place: Place) -> str:
    """'plays up to quarter = 112-128 (82%), written 144'."""
    interval = interval_words(place.headroom_low, place.headroom_high, place.written_bpm)
    words = f"plays up to {interval} ({place.headroom:.0%})"
    return (
        words if place.written_bpm is None else f"{words}, written {bpm_words(place.written_bpm)}"
    )


def interval_words(low: float, high: float, bpm: float | None) -> str:
    """'quarter = 112-128', or shares of the written speed where no tempo is known."""
    if bpm is None:
        ends, words = (f"{low:.0%}", f"{high:.0%}"), "{} of its speed"
    else:
        ends, words = (f"{bpm * low:.0f}", f"{bpm * high:.0f}"), "quarter = {}"
    return words.format("-".join(dict.fromkeys(ends)))


def bpm_words(bpm: float) -> str:
    """A tempo as it is printed: '125', '132.5'."""
    return f"{bpm:.1f}".removesuffix(".0")


_LEFT_IN, _RIGHT_IN = 1.45, 0.5
_PANEL_IN, _NAME_IN, _GAP_IN, _TITLE_IN, _AXIS_IN, _KEY_LINE_IN = 0.95, 0.2, 0.1, 0.9, 0.45, 0.19


def draw_headroom(layout: HeadroomLayout) -> Figure:
    """The page of one cue; save it as PNG or SVG."""
    from mockcheck.plots._ink import PLAIN_PT, TITLE_PT, new_figure, our_style, panel, write

    key_in = _KEY_LINE_IN * len(layout.key) + 0.25
    each_in = _PANEL_IN + _NAME_IN + _GAP_IN
    height = _TITLE_IN + each_in * max(len(layout.panels), 1) + _AXIS_IN + key_in
    with our_style():
        figure = new_figure(_LEFT_IN + PANEL_WIDTH_IN + _RIGHT_IN, height)
        write(figure, _LEFT_IN, height - 0.34, layout.title, TITLE_PT, PANEL_WIDTH_IN)
        write(figure, _LEFT_IN, height - 0.57, layout.subtitle, PLAIN_PT, PANEL_WIDTH_IN)
        top = height - _TITLE_IN
        panels = []
        for part in layout.panels:
            write(figure, _LEFT_IN, top - 0.14, part.part, PLAIN_PT, PANEL_WIDTH_IN)
            bottom = top - _NAME_IN - _PANEL_IN
            axes = panel(figure, _LEFT_IN, bottom, PANEL_WIDTH_IN, _PANEL_IN)
            _draw_panel(axes, layout, part)
            panels.append(axes)
            top = bottom - _GAP_IN
        _draw_axis(panels, layout.axis)
        _draw_legend(figure, layout, height)
        _draw_key(figure, layout, key_in)
    return figure


def save_headroom(answer: TempoAnswer, path: Path) -> None:
    """Draw and write a PNG; raises OSError when it cannot be written."""
    from mockcheck.plots._ink import our_style

    with our_style():
        figure = draw_headroom(layout_headroom(answer))
        # The drawing library's name and version would make equal answers differ.
        figure.savefig(path, dpi=_DOTS_PER_INCH, metadata={"Software": None})


_STYLES: tuple[Any, ...] = ("solid", (0, (5, 2)), (0, (1, 1.5)), (0, (5, 2, 1, 2)))
"""The session's level is drawn through; the others are told apart by their dashes."""


def _draw_panel(axes: Axes, layout: HeadroomLayout, part: HeadroomPanel) -> None:
    from matplotlib.ticker import NullLocator

    from mockcheck.plots._ink import DENSITY_EDGE, INK, OUTSIDE, RULE

    axis = layout.axis
    lefts = list(range(axis.first, axis.after, axis.cells_per_column))
    edges = [float(edge) for edge in (*lefts, axis.after)]
    own = np.full(len(lefts), np.nan)
    for column in part.columns:
        own[lefts.index(int(column.left))] = column.value
    axes.set_yscale("log")
    for (_, share), style in zip(layout.levels, _STYLES, strict=False):
        values = np.clip(own * share, LOWEST, HIGHEST)
        width = 1.5 if share == 1.0 else 0.8
        axes.stairs(
            values, edges, baseline=None, color=DENSITY_EDGE, linewidth=width, linestyle=style
        )
    below = np.where(own < 1, np.clip(own, LOWEST, 1), np.nan)
    axes.stairs(below, edges, baseline=1.0, fill=True, facecolor=OUTSIDE, hatch="////", alpha=0.8)
    axes.axhline(1.0, color=INK, linewidth=1.0)
    _draw_marks(axes, layout, part)
    axes.set_ylim(LOWEST, HIGHEST)
    axes.set_yticks([0.25, 0.5, 1, 2, 4], ["25%", "50%", "as written", "200%", "400%"])
    axes.yaxis.set_minor_locator(NullLocator())
    axes.yaxis.grid(visible=True, color=RULE, linewidth=0.6)


def _draw_marks(axes: Axes, layout: HeadroomLayout, part: HeadroomPanel) -> None:
    from mockcheck.plots._ink import INK, SMALL_PT

    nearest = _NEAREST_IN * (layout.axis.after - layout.axis.first) / PANEL_WIDTH_IN
    taken: list[float] = []
    # The tightest come first, so that of two numbers without room for both theirs is printed.
    for mark in sorted(part.marks, key=lambda mark: mark.headroom):
        height = max(mark.headroom, LOWEST)
        axes.plot([mark.left, mark.right], [height, height], color=INK, linewidth=2.4)
        axes.plot(mark.left, height, marker="^", markersize=6, color=INK, clip_on=False)
        if mark.number and all(abs(mark.left - other) >= nearest for other in taken):
            beside = mark.right if height < _LOW else mark.left
            offset = (5, -3) if height < _LOW else (-2, -14)
            axes.annotate(
                str(mark.number), (beside, height), offset, textcoords="offset points",
                fontsize=SMALL_PT,
            )  # fmt: skip
            taken.append(mark.left)


def _draw_axis(panels: list[Axes], axis: Axis) -> None:
    from mockcheck.plots._ink import SMALL_PT

    for axes in panels:
        axes.set_xlim(axis.first, axis.after)
        axes.set_xticks(axis.ticks(), [])
    if panels:
        labels = [f"{tick:,}" for tick in axis.ticks()]
        panels[-1].set_xticks(axis.ticks(), labels, fontsize=SMALL_PT)
        panels[-1].set_xlabel(axis.unit)


def _draw_legend(figure: Figure, layout: HeadroomLayout, height: float) -> None:
    from matplotlib.lines import Line2D

    from mockcheck.plots._ink import DENSITY_EDGE, SMALL_PT

    lines = [
        Line2D([], [], color=DENSITY_EDGE, linestyle=style, linewidth=1.5 if share == 1.0 else 0.8)
        for (_, share), style in zip(layout.levels, _STYLES, strict=False)
    ]
    right = (_LEFT_IN + PANEL_WIDTH_IN) / (_LEFT_IN + PANEL_WIDTH_IN + _RIGHT_IN)
    figure.legend(
        lines,
        [f"level {level}" for level, _ in layout.levels],
        loc="upper right",
        bbox_to_anchor=(right, 1 - 0.62 / height),
        ncols=len(lines),
        fontsize=SMALL_PT,
        frameon=False,
        borderpad=0,
        handlelength=3.5,
    )


def _draw_key(figure: Figure, layout: HeadroomLayout, height_in: float) -> None:
    from mockcheck.plots._ink import SMALL_PT, write

    numbered = {mark.number for part in layout.panels for mark in part.marks}
    for line, text in enumerate(layout.key):
        up = height_in - 0.1 - _KEY_LINE_IN * (line + 0.5)
        if line + 1 in numbered:
            write(figure, _LEFT_IN + 0.05, up, str(line + 1), SMALL_PT, 0.2)
        write(figure, _LEFT_IN + 0.25, up, text, SMALL_PT, PANEL_WIDTH_IN - 0.25)
