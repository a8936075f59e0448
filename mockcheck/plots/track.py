"""One track on a page: what was found, how busy it is, where it slides, how high it lies."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from mockcheck.model.finding import Severity
from mockcheck.model.played import PlayedPart
from mockcheck.model.review import Review, TrackSummary
from mockcheck.model.session import Level
from mockcheck.model.words import count_of, place_words, printable, shortened
from mockcheck.plots._columns import (
    Axis,
    Column,
    PitchColumn,
    axis_for,
    count_columns,
    density_columns,
    highest_value,
    pitch_columns,
    slide_positions,
)
from mockcheck.plots._heard import (
    DynamicsStep,
    StrokeSpan,
    draw_dynamics,
    draw_strokes,
    dynamics_steps,
    stroke_spans,
)
from mockcheck.plots._marks import Mark, marks_of

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

PANEL_WIDTH_IN = 9.75
_NEAREST_IN = 0.3
"""Two marks and the number between them need this much room."""
_KEY_LINES = 8
_KEY_LINE_LENGTH = 150


@dataclass(frozen=True)
class PitchLine:
    """A pitch worth knowing: an open string, or the top that may be asked for."""

    pitch: int
    label: str
    is_limit: bool


@dataclass(frozen=True)
class TrackLayout:
    """Everything one track's plot shows, in numbers and words; `axis` gives the abscissa.

    Parameters
    ----------
    density
        Strokes per second of each bar that has any.
    slides
        Slides that begin in each column that has any.
    strokes, dynamics
        What was heard: how the notes are played and how sure that is, and how loud.
    pitches, pitch_lines
        The sounding band, and the instrument's limits and open strings (none for a patch that
        stands for all strings).
    marks
        Findings, worst first, then in time; the first few are explained in `key`.
    key
        One line for each of the first marks, in the same order, then what else there is to say.
    """

    row: int
    title: str
    subtitle: str
    axis: Axis
    density: tuple[Column, ...]
    slides: tuple[Column, ...]
    strokes: tuple[StrokeSpan, ...]
    dynamics: tuple[DynamicsStep, ...]
    pitches: tuple[PitchColumn, ...]
    pitch_lines: tuple[PitchLine, ...]
    marks: tuple[Mark, ...]
    key: tuple[str, ...]

    @property
    def numbered(self) -> int:
        """How many of the marks have a line of the key, counted from the first."""
        return min(len(self.marks), _KEY_LINES)


def layout_track(review: Review, track_index: int) -> TrackLayout:
    """What the plot of one reviewed row of the track list shows.

    Raises ValueError for a row that was left out or does not exist.
    """
    part = review.played.part_of_role().get(track_index)
    if part is None:
        message = f"row {track_index} of the track list is not reviewed, so it has no plot"
        raise ValueError(message)
    summary = next(track for track in review.tracks if track.index == track_index)
    axis = axis_for(review.played.parts)
    nearest = _NEAREST_IN * (axis.after - axis.first) / PANEL_WIDTH_IN
    findings = [finding for finding in review.findings if finding.track == track_index]
    marks = marks_of(axis, part, findings, nearest)
    slides = slide_positions(axis, part, track_index)
    return TrackLayout(
        row=track_index,
        title=printable(part.name),
        subtitle=_subtitle(summary),
        axis=axis,
        density=density_columns(axis, part, track_index),
        slides=count_columns(axis, slides) if len(slides) else (),
        strokes=stroke_spans(axis, part, track_index),
        dynamics=dynamics_steps(axis, part, track_index),
        pitches=pitch_columns(axis, part, track_index),
        pitch_lines=_pitch_lines(part),
        marks=marks,
        key=_key(marks),
    )


def _subtitle(summary: TrackSummary) -> str:
    name = shortened(printable(summary.name), 50)
    facts = [
        f"row {summary.index}, '{name}'",
        count_of(summary.players, "player"),
        count_of(summary.notes, "note"),
    ]
    if summary.peak_notes_per_s is not None:
        facts.append(f"busiest second {summary.peak_notes_per_s:g} notes")
    if summary.headroom is not None:
        facts.append(f"tightest place playable up to {summary.headroom:.0%} of the tempo")
    return "; ".join(facts)


def _pitch_lines(part: PlayedPart) -> tuple[PitchLine, ...]:
    instrument, level = part.instrument, part.session.level
    if instrument.is_ensemble or not instrument.open_strings:
        return ()
    top = instrument.top(level)
    whose = "soloist's top" if level is Level.SOLO else "section's top"
    return (
        *(
            PitchLine(pitch, f"open {part.pitch_name(pitch)}", pitch == instrument.lowest)
            for pitch in sorted(instrument.open_strings)
        ),
        PitchLine(top, f"{whose} {part.pitch_name(top)}", is_limit=True),
    )


def _key(marks: tuple[Mark, ...]) -> tuple[str, ...]:
    if not marks:
        return ("Nothing found in this track.",)
    lines = [_key_line(mark) for mark in marks[:_KEY_LINES]]
    rest = sum(len(mark.findings) for mark in marks[_KEY_LINES:])
    if rest:
        lines.append(f"and {count_of(rest, 'more finding')}, listed in findings.csv")
    if any(mark.is_accepted for mark in marks):
        lines.append("hollow: accepted by the brief")
    return tuple(lines)


def _key_line(mark: Mark) -> str:
    first = mark.findings[0]
    words = f"{mark.severity.label}, {place_words(first.start, first.end)}"
    if mark.is_accepted:
        words += " (accepted)"
    if len(mark.findings) > 1:
        words += f" and {len(mark.findings) - 1} more near it"
    return shortened(f"{words}: {printable(first.message)}", _KEY_LINE_LENGTH)


_LEFT_IN, _RIGHT_IN = 1.45, 0.5
_LANE_IN, _DENSITY_IN, _SLIDES_IN, _PITCH_IN = 0.24, 1.7, 0.65, 1.6
_STROKES_IN, _DYNAMICS_IN = 0.42, 0.95
_GAP_IN, _TITLE_IN, _AXIS_IN, _KEY_LINE_IN = 0.16, 0.75, 0.45, 0.19
_LANES = tuple(sorted(Severity))


def draw_track(layout: TrackLayout) -> Figure:
    """The page of one track; save it as PNG or SVG."""
    from mockcheck.plots._ink import PLAIN_PT, TITLE_PT, new_figure, our_style, panel, write

    lanes_in = _LANE_IN * len(_LANES)
    key_in = _KEY_LINE_IN * len(layout.key) + 0.25
    sizes = (lanes_in, _DENSITY_IN, _SLIDES_IN, _STROKES_IN, _DYNAMICS_IN, _PITCH_IN)
    panels_in = sum(sizes) + (len(sizes) - 1) * _GAP_IN
    height = _TITLE_IN + panels_in + _AXIS_IN + key_in
    width = _LEFT_IN + PANEL_WIDTH_IN + _RIGHT_IN
    with our_style():
        figure = new_figure(width, height)
        write(figure, _LEFT_IN, height - 0.34, layout.title, TITLE_PT, PANEL_WIDTH_IN)
        write(figure, _LEFT_IN, height - 0.57, layout.subtitle, PLAIN_PT, PANEL_WIDTH_IN)
        top = height - _TITLE_IN
        axes = []
        for size in sizes:
            axes.append(panel(figure, _LEFT_IN, top - size, PANEL_WIDTH_IN, size))
            top -= size + _GAP_IN
        _draw_marks(axes[0], layout)
        _draw_density(axes[1], layout)
        _draw_slides(axes[2], layout)
        draw_strokes(axes[3], layout.axis, layout.strokes, PANEL_WIDTH_IN)
        draw_dynamics(axes[4], layout.dynamics)
        _draw_pitches(axes[5], layout)
        _draw_axis(axes, layout.axis)
        _draw_key(figure, layout, key_in)
    return figure


def _draw_marks(axes: Axes, layout: TrackLayout) -> None:
    from mockcheck.plots._ink import LOOKS, RULE, SMALL_PT

    for lane, severity in enumerate(_LANES):
        look = LOOKS[severity]
        axes.axhline(lane, color=RULE, linewidth=0.6)
        # The lane's name carries its marker, so the plot needs no separate legend.
        beside = axes.get_yaxis_transform()
        axes.plot(-0.016, lane, transform=beside, clip_on=False, **look.marker_style())
    for number, mark in enumerate(layout.marks, 1):
        look, lane = LOOKS[mark.severity], _LANES.index(mark.severity)
        axes.plot([mark.left, mark.right], [lane, lane], color=look.colour, linewidth=2.4)
        style = look.marker_style(is_hollow=mark.is_accepted)
        axes.plot(mark.left, lane, clip_on=False, **style)
        if number <= layout.numbered:
            axes.annotate(
                str(number), (mark.left, lane), (6, 1), textcoords="offset points",
                va="bottom", fontsize=SMALL_PT,
            )  # fmt: skip
    axes.set_ylim(-0.6, len(_LANES) - 0.4)
    axes.set_yticks(range(len(_LANES)), [severity.label for severity in _LANES])
    axes.tick_params(axis="y", length=0, pad=18)
    axes.spines["left"].set_visible(False)


def _draw_density(axes: Axes, layout: TrackLayout) -> None:
    from mockcheck.plots._ink import DENSITY, DENSITY_EDGE, RULE

    edges, values = _stairs(layout.axis, layout.density)
    axes.stairs(values, edges, fill=True, color=DENSITY)
    # The upper edge alone is enough to read the plot when the fill prints as nothing.
    axes.stairs(values, edges, color=DENSITY_EDGE, linewidth=1.1)
    axes.set_ylim(0, max(highest_value(layout.density) * 1.08, 1))
    axes.yaxis.grid(visible=True, color=RULE, linewidth=0.6)
    axes.set_ylabel("notes\nper second")


def _draw_slides(axes: Axes, layout: TrackLayout) -> None:
    from matplotlib.ticker import MaxNLocator

    from mockcheck.plots._ink import FAINT, SLIDE, SMALL_PT

    edges, values = _stairs(layout.axis, layout.slides)
    axes.stairs(values, edges, fill=True, facecolor=SLIDE, hatch="////")
    axes.set_ylim(0, max(highest_value(layout.slides) * 1.1, 1))
    axes.yaxis.set_major_locator(MaxNLocator(nbins=2, integer=True))
    axes.set_ylabel(f"slides per\n{layout.axis.column_label}")
    if not layout.slides:
        axes.text(
            0.5, 0.5, "no slides heard", transform=axes.transAxes, ha="center", va="center",
            fontsize=SMALL_PT, color=FAINT,
        )  # fmt: skip


def _stairs(axis: Axis, columns: tuple[Column, ...]) -> tuple[list[float], list[float]]:
    """Edges of all columns, and their values with 0 where nothing happens."""
    lefts = list(range(axis.first, axis.after, axis.cells_per_column))
    values = dict.fromkeys(lefts, 0.0) | {int(column.left): column.value for column in columns}
    return [float(edge) for edge in (*lefts, axis.after)], [values[left] for left in lefts]


def _draw_pitches(axes: Axes, layout: TrackLayout) -> None:
    from mockcheck.plots._ink import FAINT, INK, OUTSIDE, PITCH, SMALL_PT, fitted

    limits = [line.pitch for line in layout.pitch_lines if line.is_limit]
    for line in layout.pitch_lines:
        if line.is_limit:
            axes.axhline(line.pitch, color=INK, linewidth=1.2, linestyle=(0, (6, 2)))
        else:
            axes.axhline(line.pitch, color=FAINT, linewidth=0.6, zorder=0.5)
    bands = [(c.left, c.right, c.lowest - 0.4, c.highest + 0.4) for c in layout.pitches]
    _draw_bands(axes, bands, PITCH, None)
    if limits:
        low, high = min(limits) - 0.5, max(limits) + 0.5
        below = [(left, right, down, min(up, low)) for left, right, down, up in bands if down < low]
        above = [(left, right, max(down, high), up) for left, right, down, up in bands if up > high]
        _draw_bands(axes, below + above, OUTSIDE, "xxxx")
        axes.axhspan(low, high, color=FAINT, alpha=0.12, linewidth=0)
    sounding = [pitch for column in layout.pitches for pitch in (column.lowest, column.highest)]
    shown = [*(line.pitch for line in layout.pitch_lines), *sounding] or [60]
    axes.set_ylim(min(shown) - 3, max(shown) + 3)
    axes.set_yticks(
        [line.pitch for line in layout.pitch_lines],
        [fitted(line.label, SMALL_PT, _LEFT_IN - 0.2) for line in layout.pitch_lines],
        fontsize=SMALL_PT,
    )
    axes.set_ylabel("" if layout.pitch_lines else "MIDI pitch")


def _draw_bands(
    axes: Axes, bands: list[tuple[float, float, float, float]], colour: str, hatch: str | None
) -> None:
    from matplotlib.collections import PolyCollection

    corners = [
        [(left, down), (left, up), (right, up), (right, down)] for left, right, down, up in bands
    ]
    axes.add_collection(PolyCollection(corners, facecolor=colour, linewidth=0, hatch=hatch))


def _draw_axis(panels: list[Axes], axis: Axis) -> None:
    from mockcheck.plots._ink import SMALL_PT

    for axes in panels:
        axes.set_xlim(axis.first, axis.after)
        axes.set_xticks(axis.ticks(), [])
    panels[0].tick_params(axis="x", length=0)
    panels[0].spines["bottom"].set_visible(False)
    panels[-1].set_xticks(axis.ticks(), [f"{tick:,}" for tick in axis.ticks()], fontsize=SMALL_PT)
    panels[-1].set_xlabel(axis.unit)


def _draw_key(figure: Figure, layout: TrackLayout, height_in: float) -> None:
    from mockcheck.plots._ink import SMALL_PT, write

    for line, text in enumerate(layout.key):
        up = height_in - 0.1 - _KEY_LINE_IN * (line + 0.5)
        if line < layout.numbered:
            write(figure, _LEFT_IN + 0.05, up, str(line + 1), SMALL_PT, 0.2)
        write(figure, _LEFT_IN + 0.25, up, text, SMALL_PT, PANEL_WIDTH_IN - 0.25)
