"""The whole piece on one page: where each part is busy, where it slides, and what was found."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from mockcheck.model.finding import Severity
from mockcheck.model.played import PlayedPart
from mockcheck.model.review import Review, TrackSummary
from mockcheck.model.time import Timeline
from mockcheck.model.words import count_of, counts_words, printable, shortened
from mockcheck.plots._columns import (
    Axis,
    Column,
    axis_for,
    count_columns,
    density_columns,
    highest_value,
    slide_positions,
)
from mockcheck.plots._marks import Mark, marks_of

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.colors import Colormap
    from matplotlib.figure import Figure

PANEL_WIDTH_IN = 9.3
_NEAREST_IN = 0.11
_LETTER_IN = 0.08
"""About the width of a letter of the smallest type."""
_LONGEST_SIGN = 16
_LETTERS_BESIDE = 11
"""Letters that still fit on the page to the right of the last bar."""
_LONGEST_NAME = 24
_MOST_ROWS = 120
_TEMPO_STEP = 0.01
"""Tempos nearer than one in a hundred are drawn as one."""


@dataclass(frozen=True)
class OverviewRow:
    """One reviewed track; columns and marks as in a track's own plot."""

    row: int
    label: str
    density: tuple[Column, ...]
    slides: tuple[Column, ...]
    marks: tuple[Mark, ...]


@dataclass(frozen=True)
class Sign:
    """A rehearsal mark or marker of the file, where it stands on the axis."""

    left: float
    text: str


@dataclass(frozen=True)
class OverviewLayout:
    """Everything the overview shows, in numbers and words.

    Parameters
    ----------
    rows
        Reviewed tracks in the order of the file, at most 120.
    signs
        Rehearsal marks that find room above, in time.
    tempo
        Quarter notes per minute over the axis, steps without gaps; empty where none is known.
    tempo_labels
        The tempo at its steps, as far as there is room.
    remarks
        What the page does not show: left-out tracks, signs without room, rows beyond the last.
    """

    title: str
    subtitle: str
    axis: Axis
    rows: tuple[OverviewRow, ...]
    signs: tuple[Sign, ...]
    tempo: tuple[Column, ...]
    tempo_labels: tuple[Sign, ...]
    remarks: tuple[str, ...]

    @property
    def busiest(self) -> float:
        """Most strokes per second in any bar of any row."""
        return max((highest_value(row.density) for row in self.rows), default=0.0)


def layout_overview(review: Review) -> OverviewLayout:
    """What the page for the whole piece shows."""
    played = review.played
    axis = axis_for(played.parts)
    part_of = played.part_of_role()
    reviewed = [track for track in review.tracks if track.index in part_of]
    rows = [_row(review, axis, part_of[track.index], track) for track in reviewed[:_MOST_ROWS]]
    markers = sorted(played.score.markers, key=lambda marker: marker.tick)
    signs = [
        Sign(axis.position(played.score.timeline, marker.tick), printable(marker.text))
        for marker in markers
    ]
    placed = _with_room(axis, signs)
    tempo = _tempo(axis, played.score.timeline)
    steps = [Sign(step.left, f"{step.value:.0f}") for step in tempo]
    found = counts_words(f for f in review.findings if f.accepted is None) or "nothing found"
    level = played.session.level_name
    return OverviewLayout(
        title=printable(played.score.file),
        subtitle=f"{count_of(len(played.parts), 'part')}, level {level}: {found}",
        axis=axis,
        rows=tuple(rows),
        signs=placed,
        tempo=tempo,
        tempo_labels=_with_room(axis, steps),
        remarks=_remarks(review, len(reviewed), len(signs) - len(placed)),
    )


def _row(review: Review, axis: Axis, part: PlayedPart, track: TrackSummary) -> OverviewRow:
    # Rows of one part are told apart by what the composer called them, and by their number.
    is_alone = len(part.roles) == 1
    label = printable(part.name) if is_alone else f"{track.index} {printable(track.name)}"
    nearest = _NEAREST_IN * (axis.after - axis.first) / PANEL_WIDTH_IN
    slides = slide_positions(axis, part, track.index)
    return OverviewRow(
        row=track.index,
        label=shortened(label, _LONGEST_NAME),
        density=density_columns(axis, part, track.index),
        slides=count_columns(axis, slides) if len(slides) else (),
        marks=marks_of(axis, part, [f for f in review.findings if f.track == track.index], nearest),
    )


def _with_room(axis: Axis, signs: list[Sign]) -> tuple[Sign, ...]:
    """Signs from left to right as far as they do not run into each other or off the page."""
    letter = _LETTER_IN * (axis.after - axis.first) / PANEL_WIDTH_IN
    placed: list[Sign] = []
    free_from = float(axis.first)
    for sign in signs:
        room = int((axis.after - sign.left) / letter) + _LETTERS_BESIDE
        text = shortened(sign.text, min(room, _LONGEST_SIGN))
        if text and free_from <= sign.left <= axis.after:
            placed.append(Sign(sign.left, text))
            free_from = sign.left + (len(text) + 2) * letter
    return tuple(placed)


def _tempo(axis: Axis, timeline: Timeline) -> tuple[Column, ...]:
    """The tempo in force at each column's beginning, equal neighbours joined."""
    if not timeline.tempo.bpm or timeline.meter is None:
        return ()
    steps: list[Column] = []
    for left in range(axis.first, axis.after, axis.cells_per_column):
        start = timeline.meter.bar_start(np.array([left - axis.first], np.int64))
        bpm = timeline.tempo.bpm_at(int(start[0]))
        assert bpm is not None
        right = float(min(left + axis.cells_per_column, axis.after))
        if steps and abs(bpm - steps[-1].value) <= _TEMPO_STEP * steps[-1].value:
            steps[-1] = Column(steps[-1].left, right, steps[-1].value)
        else:
            steps.append(Column(float(left), right, bpm))
    return tuple(steps)


def _remarks(review: Review, reviewed: int, unplaced: int) -> tuple[str, ...]:
    remarks = []
    left_out = [printable(t.name) for t in review.tracks if t.left_out is not None]
    if left_out:
        names = ", ".join(left_out)
        remarks.append(f"not reviewed ({len(left_out)}): {shortened(names, 110)}")
    if reviewed > _MOST_ROWS:
        remarks.append(f"{reviewed - _MOST_ROWS} more tracks have no row here")
    if unplaced:
        remarks.append(f"{count_of(unplaced, 'rehearsal mark')} left out for want of room")
    if review.played.score.tempo_map.assumed:
        remarks.append("the tempo is assumed: the file names none")
    if any(finding.accepted is not None for finding in review.findings):
        remarks.append("hollow: accepted by the brief")
    return tuple(remarks)


_LEFT_IN, _RIGHT_IN = 1.95, 1.0
_ROW_IN, _CELL_TOP, _CELL_BOTTOM = 0.46, 0.44, 0.82
_SHADES = ("#e3f0f9", "#56b4e9", "#0b3c5d")
"""Ever darker, so a print without colour keeps the order; darker is busier, white is rest."""
_TITLE_IN, _SIGNS_IN, _TEMPO_IN, _AXIS_IN, _LINE_IN = 0.75, 0.3, 0.55, 0.5, 0.2


def draw_overview(layout: OverviewLayout) -> Figure:
    """The page of the whole piece; save it as PNG or SVG."""
    from mockcheck.plots._ink import (
        PLAIN_PT,
        SMALL_PT,
        TITLE_PT,
        new_figure,
        our_style,
        panel,
        write,
    )

    tempo_in = _TEMPO_IN if layout.tempo else 0.05
    signs_in = _SIGNS_IN if layout.signs else 0.05
    rows_in = max(_ROW_IN * len(layout.rows), 0.3)
    foot_in = _LINE_IN * (len(layout.remarks) + 1) + 0.3
    height = _TITLE_IN + signs_in + tempo_in + 0.15 + rows_in + _AXIS_IN + foot_in
    width = _LEFT_IN + PANEL_WIDTH_IN + _RIGHT_IN
    with our_style():
        figure = new_figure(width, height)
        write(figure, _LEFT_IN, height - 0.34, layout.title, TITLE_PT, PANEL_WIDTH_IN)
        write(figure, _LEFT_IN, height - 0.57, layout.subtitle, PLAIN_PT, PANEL_WIDTH_IN)
        tempo_bottom = height - _TITLE_IN - signs_in - tempo_in
        above = panel(figure, _LEFT_IN, tempo_bottom, PANEL_WIDTH_IN, tempo_in)
        rows_bottom = foot_in + _AXIS_IN
        below = panel(figure, _LEFT_IN, rows_bottom, PANEL_WIDTH_IN, rows_in)
        _draw_tempo(above, layout)
        _draw_signs(above, below, layout)
        _draw_rows(below, layout)
        bar_height = min(rows_in, 2.5)
        scale = panel(
            figure,
            _LEFT_IN + PANEL_WIDTH_IN + 0.25,
            rows_bottom + rows_in - bar_height,
            0.16,
            bar_height,
        )
        _draw_scale(scale, layout)
        _draw_legend(figure, foot_in - 0.13)
        for line, text in enumerate(layout.remarks):
            up = foot_in - 0.2 - _LINE_IN * (line + 1)
            write(figure, _LEFT_IN, up, text, SMALL_PT, PANEL_WIDTH_IN)
    return figure


def _draw_tempo(axes: Axes, layout: OverviewLayout) -> None:
    from mockcheck.plots._ink import INK, SMALL_PT

    axes.set_xlim(layout.axis.first, layout.axis.after)
    axes.set_xticks([])
    axes.set_yticks([])
    axes.spines[["left", "bottom"]].set_visible(False)
    if not layout.tempo:
        return
    edges = [step.left for step in layout.tempo] + [layout.tempo[-1].right]
    values = [step.value for step in layout.tempo]
    axes.stairs(values, edges, baseline=None, color=INK, linewidth=1.2)
    low, high = min(values), max(values)
    room = max(high - low, 0.1 * high)
    axes.set_ylim(low - 0.15 * room, high + 0.6 * room)
    height_of = {step.left: step.value for step in layout.tempo}
    for label in layout.tempo_labels:
        axes.annotate(
            label.text, (label.left, height_of[label.left]), (3, 4),
            textcoords="offset points", fontsize=SMALL_PT,
            bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.3},
        )  # fmt: skip
    axes.set_ylabel("quarter =", fontsize=SMALL_PT, rotation=0, ha="right", va="center")


def _draw_signs(above: Axes, below: Axes, layout: OverviewLayout) -> None:
    from mockcheck.plots._ink import FAINT, INK, SMALL_PT, fitted

    for sign in layout.signs:
        below.axvline(sign.left, color=FAINT, linewidth=0.8, linestyle=(0, (2, 2)), zorder=0.5)
        text = fitted(sign.text, SMALL_PT, (len(sign.text) + 1) * _LETTER_IN)
        above.annotate(
            text, (sign.left, 1), (0, 6), fontsize=SMALL_PT,
            xycoords=above.get_xaxis_transform(), textcoords="offset points",
            bbox={"facecolor": "white", "edgecolor": INK, "linewidth": 0.7, "pad": 2},
        )  # fmt: skip


def _draw_rows(axes: Axes, layout: OverviewLayout) -> None:
    from mockcheck.plots._ink import PLAIN_PT, RULE, SMALL_PT, fitted

    _draw_shades(axes, layout)
    for place, row in enumerate(layout.rows):
        axes.axhline(place + 1, color=RULE, linewidth=0.6)
        _draw_row_marks(axes, place, row)
        middles = [(slide.left + slide.right) / 2 for slide in row.slides]
        axes.plot(middles, [place + 0.9] * len(middles), **_slide_style())
    axes.set_xlim(layout.axis.first, layout.axis.after)
    axes.set_ylim(max(len(layout.rows), 1), 0)
    ticks = layout.axis.ticks()
    axes.set_xticks(ticks, [f"{tick:,}" for tick in ticks], fontsize=SMALL_PT)
    axes.set_xlabel(layout.axis.unit)
    axes.set_yticks(
        [place + 0.6 for place in range(len(layout.rows))],
        [fitted(row.label, PLAIN_PT, _LEFT_IN - 0.25) for row in layout.rows],
    )
    axes.tick_params(axis="y", length=0)


def _draw_shades(axes: Axes, layout: OverviewLayout) -> None:
    from matplotlib.collections import PolyCollection

    cells = [
        (place + _CELL_TOP, place + _CELL_BOTTOM, column)
        for place, row in enumerate(layout.rows)
        for column in row.density
    ]
    corners = [
        [(c.left, top), (c.right, top), (c.right, bottom), (c.left, bottom)]
        for top, bottom, c in cells
    ]
    values = [column.value for *_, column in cells]
    shades = PolyCollection(corners, array=values, cmap=_shades(), linewidth=0)
    shades.set_clim(0, max(layout.busiest, 1))
    axes.add_collection(shades)


def _shades() -> Colormap:
    from matplotlib.colors import LinearSegmentedColormap

    return LinearSegmentedColormap.from_list("busy", _SHADES)


def _draw_row_marks(axes: Axes, place: int, row: OverviewRow) -> None:
    from mockcheck.plots._ink import LOOKS

    height = place + _CELL_TOP / 2
    # The worst comes first in the layout and last on the paper, on top of the others.
    for mark in reversed(row.marks):
        look = LOOKS[mark.severity]
        axes.plot([mark.left, mark.right], [height] * 2, color=look.colour, linewidth=1.6)
        style = look.marker_style(0.8, is_hollow=mark.is_accepted)
        axes.plot(mark.left, height, clip_on=False, **style)


def _slide_style() -> dict[str, Any]:
    from mockcheck.plots._ink import SLIDE

    slant = [(-1.0, -1.0), (1.0, 1.0)]
    return {
        "linestyle": "none", "marker": slant, "markersize": 5, "color": SLIDE,
        "markeredgewidth": 1.6,
    }  # fmt: skip


def _draw_scale(axes: Axes, layout: OverviewLayout) -> None:
    axes.imshow(
        [[step] for step in range(255, -1, -1)], aspect="auto", cmap=_shades(),
        extent=(0, 1, 0, max(layout.busiest, 1)),
    )  # fmt: skip
    axes.set_xticks([])
    axes.yaxis.tick_right()
    axes.yaxis.set_label_position("right")
    axes.set_ylabel("notes per second")


def _draw_legend(figure: Figure, up_in: float) -> None:
    from matplotlib.lines import Line2D

    from mockcheck.plots._ink import LOOKS, SMALL_PT

    handles = [
        Line2D([], [], label=severity.label, **LOOKS[severity].marker_style())
        for severity in sorted(Severity, reverse=True)
    ]
    handles.append(Line2D([], [], label="slide", **_slide_style()))
    across, up = figure.get_size_inches()
    figure.legend(
        handles=handles, loc="center left", bbox_to_anchor=(_LEFT_IN / across, up_in / up),
        ncols=len(handles), frameon=False, fontsize=SMALL_PT, borderaxespad=0, borderpad=0,
    )  # fmt: skip
