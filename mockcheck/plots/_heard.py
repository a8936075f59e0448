"""What the review heard in one track: the strip of strokes and the curve of the dynamics."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from mockcheck.infer.dynamics import DYNAMICS
from mockcheck.model.played import PlayedPart
from mockcheck.plots._columns import Axis

if TYPE_CHECKING:
    from matplotlib.axes import Axes

SHORT_WORDS = {
    "legato": "leg.",
    "detache": "det.",
    "portato": "port.",
    "marcato": "marc.",
    "staccato": "stacc.",
    "spiccato": "spicc.",
    "tremolo": "trem.",
    "trill": "tr.",
    "pizzicato": "pizz.",
    "col legno": "c.l.",
    "harmonic": "harm.",
    "con sordino": "con sord.",
    "sul ponticello": "s. pont.",
    "sul tasto": "s. tasto",
}
"""As parts abbreviate them (common practice, no source)."""

_NAMED_DYNAMICS = [(lowest, name) for lowest, name in DYNAMICS if name not in ("ppp", "mp")]
_ROOM_IN = 0.06


@dataclass(frozen=True)
class StrokeSpan:
    """A stretch of the axis played in one way; `confidence` 0-1 is its height in the strip."""

    left: float
    right: float
    stroke: str
    confidence: float


@dataclass(frozen=True)
class DynamicsStep:
    """Loudness 0-127 from one place on the axis on."""

    left: float
    loudness: float


def stroke_spans(axis: Axis, part: PlayedPart, row: int) -> tuple[StrokeSpan, ...]:
    """Zones of one row of the track list; neighbours of one stroke are one span.

    A span that the next one interrupts ends there; confidence is averaged over its length.
    """
    zones = [zone for zone in part.zones if zone.track == row]
    if not zones:
        return ()
    ticks = np.array([(zone.onset_ticks, zone.release_ticks) for zone in zones], np.int64)
    left, right = (
        axis.positions(part.timeline, ticks[:, 0]),
        axis.positions(part.timeline, ticks[:, 1]),
    )
    right[:-1] = np.minimum(right[:-1], left[1:])
    spans: list[StrokeSpan] = []
    for zone, begin, end in zip(zones, left.tolist(), right.tolist(), strict=True):
        span = StrokeSpan(begin, max(end, begin), zone.articulation, zone.confidence)
        if spans and spans[-1].stroke == span.stroke:
            spans[-1] = _joined(spans[-1], span)
        else:
            spans.append(span)
    return tuple(spans)


def _joined(before: StrokeSpan, after: StrokeSpan) -> StrokeSpan:
    lengths = before.right - before.left, after.right - after.left
    total = sum(lengths)
    confidence = before.confidence
    if total > 0:
        shares = before.confidence * lengths[0] + after.confidence * lengths[1]
        confidence = shares / total
    return StrokeSpan(before.left, after.right, before.stroke, confidence)


def dynamics_steps(axis: Axis, part: PlayedPart, row: int) -> tuple[DynamicsStep, ...]:
    """The curve of one row up to its last note; of the values in a column the extremes stay."""
    releases = part.notes.release_ticks[part.track == row]
    if not len(releases):
        return ()
    end = float(axis.positions(part.timeline, releases.max()[None])[0])
    steps: list[DynamicsStep] = []
    for curve in part.dynamics:
        if curve.track != row or not len(curve.ticks):
            continue
        places = axis.positions(part.timeline, curve.ticks)
        columns = axis.column_of(places)
        order = np.lexsort((curve.loudness, columns))
        is_edge = np.diff(columns[order], prepend=-1) != 0
        is_edge |= np.diff(columns[order], append=-1) != 0
        kept = np.sort(order[is_edge])
        steps += [
            DynamicsStep(left, loudness)
            for left, loudness in zip(
                places[kept].tolist(), curve.loudness[kept].tolist(), strict=True
            )
        ]
    sounding = sorted((step for step in steps if step.left < end), key=lambda step: step.left)
    return (*sounding, replace(sounding[-1], left=end)) if sounding else ()


def draw_strokes(axes: Axes, axis: Axis, spans: tuple[StrokeSpan, ...], width_in: float) -> None:
    """Each span as high as it is sure, named where there is room."""
    from mockcheck.plots._ink import FAINT, INK, SMALL_PT, STROKE, text_width_in

    per_cell_in = width_in / (axis.after - axis.first)
    for span in spans:
        room_in = (span.right - span.left) * per_cell_in
        axes.bar(
            span.left, span.confidence, width=span.right - span.left, align="edge",
            facecolor=STROKE, edgecolor=INK, linewidth=0.4 if room_in > _ROOM_IN else 0,
        )  # fmt: skip
        word = next(
            (
                word
                for word in (span.stroke, SHORT_WORDS.get(span.stroke, span.stroke))
                if text_width_in(word, SMALL_PT) + _ROOM_IN < room_in
            ),
            "",
        )
        middle = (span.left + span.right) / 2
        axes.text(middle, 0.12, word, ha="center", va="bottom", fontsize=SMALL_PT, clip_on=True)
    axes.set_ylim(0, 1)
    axes.set_yticks([0, 1], ["", "sure"])
    axes.set_ylabel("stroke")
    if not spans:
        _say_nothing(axes, "no notes", FAINT)


def draw_dynamics(axes: Axes, steps: tuple[DynamicsStep, ...]) -> None:
    """The curve between the names that players read."""
    from mockcheck.plots._ink import FAINT, PITCH, RULE

    axes.set_ylim(0, 127)
    axes.set_yticks([lowest for lowest, _ in _NAMED_DYNAMICS], [n for _, n in _NAMED_DYNAMICS])
    axes.yaxis.grid(visible=True, color=RULE, linewidth=0.6)
    axes.set_ylabel("dynamics")
    if not steps:
        _say_nothing(axes, "not heard", FAINT)
        return
    lefts, values = [step.left for step in steps], [step.loudness for step in steps]
    axes.step(lefts, values, where="post", color=PITCH, linewidth=1.1)


def _say_nothing(axes: Axes, words: str, colour: str) -> None:
    from mockcheck.plots._ink import SMALL_PT

    axes.text(
        0.5, 0.5, words, transform=axes.transAxes, ha="center", va="center",
        fontsize=SMALL_PT, color=colour,
    )  # fmt: skip
