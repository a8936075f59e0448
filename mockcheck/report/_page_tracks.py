"""Each track on the page: how busy, how often it slides, how it is played, how fast it could go."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from markupsafe import Markup

from mockcheck.model.played import ARTICULATIONS, PlayedPart
from mockcheck.model.review import Review, TrackSummary
from mockcheck.model.words import count_of, place_words, printable
from mockcheck.plan.retempo import answer_tempo
from mockcheck.plots._columns import Column, highest_value
from mockcheck.plots._heard import StrokeSpan
from mockcheck.plots.headroom import HIGHEST, LOWEST, HeadroomPanel, layout_headroom
from mockcheck.plots.track import TrackLayout, layout_track
from mockcheck.report._page_svg import Across, blocks, drawing, px, steps, tag, words

_WIDTH_PX, _LEFT_PX, _RIGHT_PX = 1068, 112, 40
_DENSITY_PX, _SLIDES_PX, _HEADROOM_PX = 84, 34, 84
_LANE_PX, _GAP_PX, _AXIS_PX, _TOP_PX = 16, 16, 22, 10
_THIN_PX = 0.6
"""Spans of strokes thinner than this are drawn as one with the span before."""


@dataclass(frozen=True)
class TrackPage:
    """One reviewed track: its name in words, facts and drawing."""

    row: int
    title: str
    facts: tuple[tuple[str, str], ...]
    drawing: Markup
    note: str


def track_pages(review: Review) -> Iterator[TrackPage]:
    """Every reviewed track in the order of the file."""
    part_of = review.played.part_of_role()
    panels = {panel.part: panel for panel in _headroom(review)}
    for track in review.tracks:
        part = part_of.get(track.index)
        if part is None:
            continue
        panel = panels.get(printable(part.name))
        layout = layout_track(review, track.index)
        note = ""
        if panel is not None and len(part.roles) > 1:
            note = f"Headroom is that of the whole part, {count_of(len(part.roles), 'track')}."
        yield TrackPage(
            row=track.index,
            title=f"{layout.title}, row {track.index} '{printable(track.name)}'",
            facts=tuple(_facts(part, track)),
            drawing=_drawn(layout, panel),
            note=note,
        )


def left_out(review: Review) -> list[tuple[int, str, str]]:
    """Row, name and reason of the tracks that were not reviewed."""
    return [
        (track.index, printable(track.name), printable(track.left_out))
        for track in review.tracks
        if track.left_out is not None
    ]


def _headroom(review: Review) -> tuple[HeadroomPanel, ...]:
    # At the written tempo alone; other tempos are the business of `mockcheck retempo`.
    return layout_headroom(answer_tempo(review.played, ())).panels


def _facts(part: PlayedPart, track: TrackSummary) -> Iterator[tuple[str, str]]:
    yield "instrument", f"{track.instrument} ({track.confidence:.0%} sure)"
    yield "players", f"{track.players:,}"
    yield "notes", f"{track.notes:,}"
    if track.lowest is not None and track.highest is not None:
        yield "range", f"{part.pitch_name(track.lowest)} to {part.pitch_name(track.highest)}"
    if track.peak_notes_per_s is not None and track.mean_notes_per_s is not None:
        busiest = f"{track.peak_notes_per_s:g} notes; mean {track.mean_notes_per_s:.1f} a second"
        yield "busiest second", busiest
    if track.headroom is not None and track.headroom_at is not None:
        where = place_words(track.headroom_at, track.headroom_at)
        yield "tightest place", f"plays up to {track.headroom:.0%} of the tempo, {where}"
    yield (
        "slides",
        (
            f"{track.slides:,}; {track.slides_per_100_transitions:.1f} of 100 joins,"
            f" {track.slides_per_minute:.1f} a minute"
        ),
    )


def _drawn(layout: TrackLayout, headroom: HeadroomPanel | None) -> Markup:
    across = Across(layout.axis, _LEFT_PX, _WIDTH_PX - _LEFT_PX - _RIGHT_PX)
    body: list[str] = []
    top = float(_TOP_PX)
    body += _density(layout, across, top)
    top += _DENSITY_PX + _GAP_PX
    if layout.slides:
        body += _slides(layout, across, top)
        top += _SLIDES_PX + _GAP_PX
    lanes = list(_lanes(layout.strokes))
    body += _strokes(layout.strokes, lanes, across, top)
    top += _LANE_PX * max(len(lanes), 1) + _GAP_PX
    if headroom is not None and headroom.columns:
        body += _headroom_panel(headroom, across, top)
        top += _HEADROOM_PX + _GAP_PX
    body.insert(0, across.ruled(_TOP_PX, top - _GAP_PX))
    body.append(across.numbers(top + 8))
    label = f"{layout.title}: density, slides, strokes and headroom over the {layout.axis.unit}s"
    return drawing(_WIDTH_PX, top + _AXIS_PX - 4, body, label)


def _density(layout: TrackLayout, across: Across, top: float) -> Iterator[str]:
    floor = top + _DENSITY_PX
    most = max(highest_value(layout.density), 1.0)
    heights = [floor - _DENSITY_PX * column.value / most for column in layout.density]
    yield _floor(across, floor)
    yield tag("path", d=blocks(across, layout.density, heights, floor) or "M0 0", class_="d3")
    yield tag("path", d=steps(across, layout.density, heights) or "M0 0", class_="line")
    yield from _scale("notes a second", f"{most:.1f}", top, floor)


def _slides(layout: TrackLayout, across: Across, top: float) -> Iterator[str]:
    floor = top + _SLIDES_PX
    most = max(highest_value(layout.slides), 1.0)
    heights = [floor - _SLIDES_PX * column.value / most for column in layout.slides]
    yield _floor(across, floor)
    yield tag("path", d=blocks(across, layout.slides, heights, floor), class_="slides")
    yield from _scale(f"slides in a {layout.axis.column_label}", f"{most:.0f}", top, floor)


def _floor(across: Across, floor: float) -> str:
    return tag("path", d=f"M{px(across.left)} {px(floor)}h{px(across.width)}", class_="bar")


def _scale(name: str, most: str, top: float, floor: float) -> Iterator[str]:
    yield words(most, _LEFT_PX - 6, top + 8, class_="side")
    yield words(name, _LEFT_PX - 6, (top + floor) / 2 + 6, class_="side")
    yield words("0", _LEFT_PX - 6, floor, class_="side")


def _lanes(spans: tuple[StrokeSpan, ...]) -> Iterator[str]:
    """Strokes that occur, in the order players list them."""
    heard = {span.stroke for span in spans}
    yield from (name for name in ARTICULATIONS if name in heard)
    yield from sorted(heard - set(ARTICULATIONS))


def _strokes(
    spans: tuple[StrokeSpan, ...], lanes: list[str], across: Across, top: float
) -> Iterator[str]:
    """A lane for each stroke; a bar is as high as the stroke is sure."""
    if not lanes:
        yield words("no strokes heard", _LEFT_PX - 6, top + 12, class_="side")
    for place, name in enumerate(lanes):
        floor = top + _LANE_PX * (place + 1) - 2
        path, drawn_to = "", -math.inf
        for span in spans:
            left, right = across.x(span.left), across.x(span.right)
            if span.stroke != name or right - drawn_to < _THIN_PX:
                continue
            height = (_LANE_PX - 4) * span.confidence
            path += (
                f"M{px(left)} {px(floor)}v{px(-height)}H{px(max(right, left + 1))}v{px(height)}z"
            )
            drawn_to = right
        yield _floor(across, floor)
        yield tag("path", d=path or "M0 0", class_="stroke")
        yield words(name, _LEFT_PX - 6, floor - 1, class_="side")


def _headroom_panel(panel: HeadroomPanel, across: Across, top: float) -> Iterator[str]:
    def y(share: float) -> float:
        held = min(max(share, LOWEST), HIGHEST)
        return top + _HEADROOM_PX * math.log(HIGHEST / held) / math.log(HIGHEST / LOWEST)

    heights = [y(column.value) for column in panel.columns]
    below: list[Column] = [column for column in panel.columns if column.value < 1]
    if below:
        too_fast = blocks(across, below, [y(column.value) for column in below], y(1))
        yield tag("path", d=too_fast, class_="too-fast")
    yield tag("path", d=f"M{_LEFT_PX} {px(y(1))}h{px(across.width)}", class_="written")
    yield tag("path", d=steps(across, panel.columns, heights), class_="line")
    for share, name in ((4.0, "400%"), (2.0, "200%"), (0.5, "50%"), (0.25, "25%")):
        yield words(name, _LEFT_PX - 6, y(share) + 4, class_="side")
    yield words("tempo as written", _LEFT_PX - 6, y(1) + 4, class_="side")
