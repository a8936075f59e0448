"""Dynamics and hairpins as they would be marked in a part."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from mockcheck.export._marks import PAGE, Mark, PartBars
from mockcheck.infer.dynamic_spans import PARAMS as SPANS
from mockcheck.infer.dynamic_spans import DynamicSpan, dynamic_spans
from mockcheck.infer.dynamics import dynamic_name
from mockcheck.model.dynamics import DynamicsCurve
from mockcheck.model.played import PlayedPart

_UNMOVED = "how loud? One loudness throughout may be a setting"
_SAME = SPANS.least_change
"""A hairpin that begins so near to where the last one ended goes on from there."""
_TOO_MANY = "the loudness changes from bar to bar: which dynamics are meant?"
_FEWEST_BARS = 8
_UNSURE = "are these the dynamics? What draws them is unsure"


def dynamic_marks(part: PlayedPart, bars: PartBars) -> list[Mark]:
    """The dynamics of a part; one question where they change from bar to bar.

    Nobody writes so many: they are the shape of a figure, or the touch of a keyboard.
    """
    marks = list(_marks(part))
    played = int(bars.turn.max()) + 1
    if played < _FEWEST_BARS or len(marks) <= PAGE.most_dynamics * played:
        return marks
    begin, end = marks[0].onset_ticks, marks[-1].release_ticks
    sure = min(mark.confidence for mark in marks)
    return [Mark("dynamics", begin, end, _TOO_MANY, sure, is_sure=False)]


def _marks(part: PlayedPart) -> Iterator[Mark]:
    """What a player has to be told: where the line begins anew, grows or fades.

    A dynamic that a hairpin has led to holds without a word. Where several tracks of the part
    play, the one with most notes speaks. Hairpins begin and end on a beat.
    """
    written, loudness = "", np.inf
    for curve, span in _spans(part):
        words = _words(span, written, is_known=abs(span.from_loudness - loudness) < _SAME)
        loudness = span.to_loudness
        if not words:
            continue
        written = words.split()[-1]
        is_sure = curve.confidence >= PAGE.dynamics_sure
        if not is_sure:
            words = _UNMOVED if span.from_loudness == span.to_loudness else _UNSURE
        begin, end = (_to_beat(part, tick) for tick in (span.onset_ticks, span.release_ticks))
        yield Mark("dynamics", begin, max(begin, end), words, curve.confidence, is_sure)


def _to_beat(part: PlayedPart, tick: int) -> int:
    meter = part.timeline.meter
    if meter is None:
        return tick
    piece = max(int(np.searchsorted(meter.ticks, tick, side="right")) - 1, 0)
    start, beat = int(meter.ticks[piece]), float(meter.beat_ticks[piece])
    return start + round(round((tick - start) / beat) * beat)


def _spans(part: PlayedPart) -> list[tuple[DynamicsCurve, DynamicSpan]]:
    """Spans of all tracks in order of time, each where its track plays more than any other."""
    return sorted(
        (
            (curve, span)
            for curve in part.dynamics
            for span in dynamic_spans(part, curve)
            if _speaks(part, curve.track, span)
        ),
        key=lambda pair: (pair[1].onset_ticks, pair[1].release_ticks),
    )


def _speaks(part: PlayedPart, track: int, span: DynamicSpan) -> bool:
    sounds = (part.notes.onset_s < span.release_s) & (part.notes.release_s > span.onset_s)
    tracks, counts = np.unique(part.track[sounds], return_counts=True)
    return bool(len(tracks)) and int(tracks[counts.argmax()]) == track


def _words(span: DynamicSpan, written: str, *, is_known: bool) -> str:
    """What the span says that is not written yet; empty for nothing."""
    first, last = dynamic_name(span.from_loudness), dynamic_name(span.to_loudness)
    is_known |= first == written
    if first == last:
        return "" if is_known else first
    way = "cresc." if span.to_loudness > span.from_loudness else "dim."
    # A hairpin to what is written already would lead nowhere.
    return f"{way} to {last}" if is_known and last != written else f"{first}, {way} to {last}"
