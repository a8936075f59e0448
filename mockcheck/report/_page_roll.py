"""The bars of one finding as the file has them: notes, the curve of the pitch, controllers."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from html import escape

import numpy as np
from markupsafe import Markup
from numpy.typing import NDArray

from mockcheck.model.curves import Curve
from mockcheck.model.finding import Finding
from mockcheck.model.played import PlayedPart
from mockcheck.model.score import Score
from mockcheck.model.words import last_bar, place_words, printable
from mockcheck.plots._columns import Axis
from mockcheck.report._page_svg import Across, drawing, px, tag, words

MOST_BARS = 4
"""Longer places show their first bars."""
_MOST_SECONDS = 10
_MOST_NOTES = 400
_MOST_POINTS = 160
_MOST_NAMED = 12
_LEAST_BEND_CENTS = 5.0
_WIDTH_PX, _LEFT_PX, _RIGHT_PX = 720, 74, 110
_HEAD_PX, _LANE_PX, _GAP_PX = 20, 44, 16
_NAME_PX, _NAME_UP_PX = 26, 12
"""Room that a note's name takes."""
_CONTROLLERS = {
    1: "modulation",
    2: "breath",
    5: "glide time",
    7: "volume",
    11: "expression",
    64: "sustain",
    65: "glide",
}
"""What players of keyboards call them. Source: MIDI 1.0 Detailed Specification 4.2, table 3."""
_FIRST_SHOWN = (11, 1, 7, 2, 64, 65)
_MOST_CONTROLLERS = 3


@dataclass(frozen=True)
class _Cut:
    """The stretch that is shown: its axis, and first and last tick."""

    across: Across
    first_tick: int
    after_tick: int
    is_whole: bool


def concerned(part: PlayedPart, finding: Finding) -> NDArray[np.int64]:
    """Indices of the notes that a finding is about: its pitches, where it is."""
    notes = part.notes
    start, end = finding.start.tick, max(finding.end.tick, finding.start.tick + 1)
    is_of_pitch = np.isin(notes.pitch, finding.pitches) | (not finding.pitches)
    is_there = (notes.onset_ticks < end) & (notes.release_ticks > start)
    # A note of no length at all is still a note.
    is_there |= (notes.onset_ticks >= start) & (notes.onset_ticks < end)
    found = np.flatnonzero(is_there & is_of_pitch)
    if len(found) < len(finding.pitches):
        # A run is named up to the onset of its last note, a chord up to its release.
        is_there |= notes.onset_ticks == end
        found = np.flatnonzero(is_there & is_of_pitch)
    return found


def draw_roll(score: Score, part: PlayedPart, finding: Finding) -> tuple[Markup, bool] | None:
    """The cut, and whether it shows the whole place; None where no note lies in it."""
    cut = _cut(part, finding)
    notes = part.notes
    shown = np.flatnonzero(
        (notes.onset_ticks < cut.after_tick) & (notes.release_ticks > cut.first_tick)
    )[:_MOST_NOTES]
    if not len(shown):
        return None
    marked = set(concerned(part, finding).tolist())
    pitches = notes.pitch[shown]
    low, high = int(pitches.min()) - 2, int(pitches.max()) + 2
    step = min(max(200 / (high - low + 1), 4.0), 11.0)
    bottom = _HEAD_PX + step * (high - low + 1)
    scale = _Scale(high, step)
    body = [*_bar_lines(cut, part, bottom), *_open_strings(part, scale, low, high)]
    body += _notes(part, cut, scale, shown.tolist(), marked)
    body += _bends(score, part, cut, scale, shown.tolist())
    lanes, height = _controllers(score, part, finding, cut, bottom + _GAP_PX)
    label = f"Notes of {printable(part.name)}, {place_words(finding.start, finding.end)}"
    return drawing(_WIDTH_PX, height + 6, [*body, *lanes], label), cut.is_whole


@dataclass(frozen=True)
class _Scale:
    """Pitch upwards; `step` px to a semitone below the highest."""

    high: int
    step: float

    def y(self, pitch: float) -> float:
        """The middle of a pitch's row."""
        return _HEAD_PX + self.step * (self.high - pitch + 0.5)


def _cut(part: PlayedPart, finding: Finding) -> _Cut:
    width = _WIDTH_PX - _LEFT_PX - _RIGHT_PX
    timeline = part.timeline
    first, last = finding.start.bar, last_bar(finding.start, finding.end)
    if timeline.meter is None or first is None or last is None:
        begin = math.floor(finding.start.time_s)
        after = max(math.ceil(finding.end.time_s), begin + 1)
        shown = min(after, begin + _MOST_SECONDS)
        axis = Axis("second", begin, shown, 1)
        ticks = timeline.tempo.ticks_at(np.array([begin, shown], np.float64))
    else:
        after = last + 1
        shown = min(after, first + MOST_BARS)
        axis = Axis("bar", first, shown, 1)
        ticks = timeline.meter.bar_start(np.array([first - 1, shown - 1], np.int64))
    return _Cut(Across(axis, _LEFT_PX, width), int(ticks[0]), int(ticks[1]), shown == after)


def _x(cut: _Cut, part: PlayedPart, ticks: Sequence[int] | NDArray[np.int64]) -> list[float]:
    places = cut.across.axis.positions(part.timeline, np.asarray(ticks, np.int64))
    return [cut.across.x(place) for place in places.tolist()]


def _bar_lines(cut: _Cut, part: PlayedPart, bottom: float) -> Iterator[str]:
    axis = cut.across.axis
    lines = "".join(
        f"M{px(cut.across.x(cell))} {_HEAD_PX}V{px(bottom)}"
        for cell in range(axis.first, axis.after + 1)
    )
    yield tag("path", d=lines, class_="bar")
    for cell in range(axis.first, axis.after):
        text = f"{axis.unit} {cell:,}" if cell == axis.first else f"{cell:,}"
        yield words(text, cut.across.x(cell) + 3, _HEAD_PX - 6, class_="small")
    if part.timeline.meter is not None:
        beats = _beats(cut, part)
        path = "".join(f"M{px(x)} {_HEAD_PX}V{px(bottom)}" for x in _x(cut, part, beats))
        yield tag("path", d=path or "M0 0", class_="beat")


def _beats(cut: _Cut, part: PlayedPart) -> list[int]:
    """Ticks of the beats inside the bars."""
    meter = part.timeline.meter
    assert meter is not None
    ticks: list[int] = []
    for cell in range(cut.across.axis.first, cut.across.axis.after):
        begin, end = meter.bar_start(np.array([cell - 1, cell], np.int64)).tolist()
        piece = int(np.searchsorted(meter.ticks, begin, side="right")) - 1
        beat = float(meter.beat_ticks[piece])
        ticks += [round(begin + beat * n) for n in range(1, math.ceil((end - begin) / beat))]
    return ticks


def _open_strings(part: PlayedPart, scale: _Scale, low: int, high: int) -> Iterator[str]:
    """Where the open strings lie; other pitches are named beside the notes."""
    for pitch in part.instrument.open_strings:
        if low <= pitch <= high:
            y = scale.y(pitch)
            yield tag("path", d=f"M{_LEFT_PX} {px(y)}H{_WIDTH_PX - _RIGHT_PX}", class_="string")
            yield words(f"open {part.pitch_name(pitch)}", _LEFT_PX - 6, y + 4, class_="side")


def _notes(
    part: PlayedPart, cut: _Cut, scale: _Scale, shown: list[int], marked: set[int]
) -> Iterator[str]:
    notes = part.notes
    lefts, rights = (
        _x(cut, part, notes.onset_ticks[shown]),
        _x(cut, part, notes.release_ticks[shown]),
    )
    thick = max(scale.step - 1, 3.0)
    for is_marked in (False, True):
        rows = [n for n, index in enumerate(shown) if (index in marked) is is_marked]
        path = "".join(
            f"M{px(lefts[n])} {px(scale.y(int(notes.pitch[shown[n]])) - thick / 2)}"
            f"h{px(max(rights[n] - lefts[n] - 1, 2))}v{px(thick)}H{px(lefts[n])}z"
            for n in rows
        )
        if rows:
            yield tag("path", d=path, class_="note found" if is_marked else "note")
    named = [n for n, index in enumerate(shown) if index in marked]
    yield from _names(
        [
            (
                lefts[n],
                rights[n],
                scale.y(int(notes.pitch[shown[n]])),
                part.pitch_name(int(notes.pitch[shown[n]])),
            )
            for n in (named if len(named) <= _MOST_NAMED else named[:1] + named[-1:])
        ],
        thick,
    )


def _names(notes: Sequence[tuple[float, float, float, str]], thick: float) -> Iterator[str]:
    """Each note's name above its beginning, or behind its end where another name is near."""
    taken: list[tuple[float, float]] = []
    for left, right, y, name in notes:
        up = y - thick / 2 - 3
        is_crowded = any(
            abs(left - x) < _NAME_PX and abs(up - other) < _NAME_UP_PX for x, other in taken
        )
        if is_crowded:
            yield words(name, right + 4, y + 4, class_="small haloed")
        else:
            yield words(name, left, up, class_="small haloed")
            taken.append((left, up))


def _bends(
    score: Score, part: PlayedPart, cut: _Cut, scale: _Scale, shown: list[int]
) -> Iterator[str]:
    """Over each note the pitch that sounds, where the wheel is off its middle."""
    lines = []
    for index in shown:
        points = _sounding(score, part, index, cut)
        if points is not None:
            ticks, pitch = points
            places = zip(_x(cut, part, ticks), pitch.tolist(), strict=True)
            lines.append("M" + "L".join(f"{px(x)} {px(scale.y(p))}" for x, p in places))
    if lines:
        yield tag("path", d="".join(lines), class_="pitch")
        yield words("pitch curve", _WIDTH_PX - _RIGHT_PX + 6, _HEAD_PX + 12, class_="small")


def _sounding(
    score: Score, part: PlayedPart, index: int, cut: _Cut
) -> tuple[NDArray[np.int64], NDArray[np.float64]] | None:
    notes = part.notes
    role = next((role for role in part.roles if role.index == part.track[index]), None)
    if role is None or role.track_index >= len(score.tracks):
        return None
    track = score.tracks[role.track_index]
    begin = max(int(notes.onset_ticks[index]), cut.first_tick)
    end = min(int(notes.release_ticks[index]), cut.after_tick)
    channel = int(notes.channel[index])
    sent = [track.curves(channel).bend_cents.ticks]
    if track.mpe is not None:
        sent.append(track.curves(track.mpe.manager_channel).bend_cents.ticks)
    moves = np.unique(np.concatenate(sent))
    inside = moves[(moves > begin) & (moves < end)]
    ticks = np.concatenate([[begin], inside[:: len(inside) // _MOST_POINTS + 1], [end]])
    ticks = ticks.astype(np.int64)
    cents = track.sounding_cents(channel, part.timeline.tempo.seconds_at(ticks))
    if len(cents) > 1:
        # What is sent on the very end belongs to the next note.
        cents[-1] = cents[-2]
    if float(np.abs(cents).max()) < _LEAST_BEND_CENTS:
        return None
    return ticks, notes.pitch[index] + cents / 100


def _controllers(
    score: Score, part: PlayedPart, finding: Finding, cut: _Cut, top: float
) -> tuple[list[str], float]:
    """Up to three controllers that move or stand in the cut, and where the drawing ends."""
    role = next((role for role in part.roles if role.index == finding.track), None)
    if role is None or role.track_index >= len(score.tracks):
        return [], top
    track = score.tracks[role.track_index]
    curves: dict[int, Curve] = {}
    for channel in role.channels:
        for number, curve in track.curves(channel).controllers.items():
            if number in _CONTROLLERS and len(curve):
                curves.setdefault(number, curve)
    order = [number for number in _FIRST_SHOWN if number in curves]
    drawn: list[str] = []
    for number in order[:_MOST_CONTROLLERS]:
        name = f"{_CONTROLLERS[number]} ({number})"
        drawn += _lane(name, curves[number], part, cut, top)
        top += _LANE_PX + _GAP_PX
    return drawn, top


def _lane(name: str, curve: Curve, part: PlayedPart, cut: _Cut, top: float) -> Iterator[str]:
    inside = (curve.ticks > cut.first_tick) & (curve.ticks < cut.after_tick)
    ticks = curve.ticks[inside]
    ticks = np.concatenate([[cut.first_tick], ticks[:: len(ticks) // _MOST_POINTS + 1]])
    values = curve.value_at_ticks(ticks.astype(np.int64)).tolist()
    floor = top + _LANE_PX
    heights = [px(floor - _LANE_PX * value / 127) for value in values]
    path = f"M{_LEFT_PX} {heights[0]}"
    before = heights[0]
    for x, height in zip(_x(cut, part, ticks)[1:], heights[1:], strict=True):
        if height != before:
            path += f"H{px(x)}V{height}"
            before = height
    right = _WIDTH_PX - _RIGHT_PX
    yield tag(
        "path", d=f"M{_LEFT_PX} {px(floor)}H{right}M{_LEFT_PX} {px(top)}H{right}", class_="rule"
    )
    yield tag("path", d=f"{path}H{right}", class_="line")
    yield words("127", _LEFT_PX - 6, top + 8, class_="side")
    yield words("0", _LEFT_PX - 6, floor, class_="side")
    yield tag("text", escape(name), x=right + 6, y=top + _LANE_PX / 2 + 4, class_="small")
