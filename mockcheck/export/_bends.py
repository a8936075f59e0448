"""Bends that players cannot play, taken out of a track: left over, out of tune, or slides too many.

What stays: slides, vibrato, and pitch that moves under a note in a way nobody has a name for.
Everything else goes back to the middle, since players play the note they read, in tune.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import mido
import numpy as np
from numpy.typing import NDArray

from mockcheck.export._source import Chunk, Message
from mockcheck.model.finding import Finding
from mockcheck.model.played import PlayedPart, Role, Slide
from mockcheck.model.score import ChannelCurves, Track
from mockcheck.model.time import TempoMap
from mockcheck.params import Params, quantity


class BendParams(Params):
    """What counts as out of tune, and what as a movement."""

    in_tune_cents: float = quantity(
        5,
        unit="cents",
        low=0,
        high=50,
        meaning="a bend no larger than this is in tune, and stays",
        source="hardly anybody hears less; from memory",
    )
    edge_s: float = quantity(
        0.1,
        unit="s",
        low=0,
        high=1,
        meaning="a wheel that leaves the middle, or comes back to it, so near a slide does so for"
        " the slide",
    )
    most_drift_cents: float = quantity(
        50,
        unit="cents",
        low=5,
        high=200,
        meaning="a pitch that moves further than this under a note is meant, so it stays",
        source="half of the smallest step that is written; common practice, no source",
    )


PARAMS = BendParams()
_FULL_BEND = 8192
_NEVER = 1 << 53
"""A tick behind the end of every file."""
_ASSUMED_SEMITONES = 2
"""Source: General MIDI System Level 1, pitch bend sensitivity at power-up."""


@dataclass(frozen=True)
class Region:
    """Ticks from one to before another in which a bend stays, less a standing part of it."""

    onset_ticks: int
    release_ticks: int
    level_cents: float = 0.0


@dataclass(frozen=True)
class TakenOut:
    """One bend that was taken out: where, and how much it was."""

    tick: int
    cents: float


def kept_regions(
    part: PlayedPart, role: Role, dropped: Sequence[Slide], accepted: Sequence[Finding]
) -> list[Region]:
    """Where the bends of one row stay.

    Its slides but the dropped ones, vibrato, movements under a note, and places at which the
    brief accepts a bend.
    """
    notes = part.notes
    regions = [_of_accepted(part, role, finding) for finding in accepted]
    regions += [
        _of_slide(part, slide)
        for slide in part.slides
        if slide.track == role.index and slide.source == "bend" and slide not in dropped
    ]
    own = part.track == role.index
    for slide in dropped:
        # A second voice on the same wheel moves with the slide, and stops moving with it.
        own &= (notes.release_ticks <= slide.onset_ticks) | (
            notes.onset_ticks >= slide.release_ticks
        )
    shaken = np.zeros(len(notes)) if part.intonation is None else part.intonation.vibrato_hz
    moves = (shaken > 0) | (part.bend_travel_cents > PARAMS.most_drift_cents)
    for note in np.flatnonzero(moves & own).tolist():
        level = 0.0
        if part.intonation is not None and shaken[note] > 0:
            level = float(part.intonation.level_cents[note])
        level = level if abs(level) > PARAMS.in_tune_cents else 0.0
        regions.append(Region(int(notes.onset_ticks[note]), int(notes.release_ticks[note]), level))
    return regions


def _of_accepted(part: PlayedPart, role: Role, finding: Finding) -> Region:
    """From the note before the bent ones, since the wheel moves first, to the note after them."""
    onsets = part.notes.onset_ticks[part.track == role.index]
    before, after = onsets[onsets < finding.start.tick], onsets[onsets >= finding.end.tick]
    return Region(int(before.max(initial=0)), int(after.min(initial=_NEVER)))


def _of_slide(part: PlayedPart, slide: Slide) -> Region:
    """A slide that leads to no other key holds its pitch until the key goes up."""
    release = slide.release_ticks
    if slide.from_note >= 0 and (slide.to_note < 0 or slide.to_note == slide.from_note):
        release = max(release, int(part.notes.release_ticks[slide.from_note]))
    return Region(slide.onset_ticks, release)


def is_melody(slide: Slide) -> bool:
    """Whether a bend plays the next note itself, so that it cannot go without that note."""
    return slide.kind in ("portamento", "glissando") and slide.from_note == slide.to_note


@dataclass(frozen=True)
class _Wheel:
    """The bends of one channel as they are, in the order of the file; arrays of shape (n,)."""

    events: list[int]
    ticks: NDArray[np.int64]
    values: NDArray[np.int64]
    cents_per_step: float

    @property
    def is_off(self) -> NDArray[np.bool_]:
        """Where a bend is out of tune."""
        off: NDArray[np.bool_] = np.abs(self.values * self.cents_per_step) > PARAMS.in_tune_cents
        return off

    def value_at(self, tick: int) -> int:
        """Where the wheel stands."""
        before = int(np.searchsorted(self.ticks, tick, side="right")) - 1
        return int(self.values[before]) if before >= 0 else 0


def straighten(
    chunk: Chunk, channel: int, track: Track, regions: Sequence[Region]
) -> list[TakenOut]:
    """Set the bends of one channel to the middle outside the regions in which they stay.

    Returns what was taken out, in order of time; empty where nothing had to be.
    """
    wheel = _read_wheel(chunk, channel, track.curves(channel))
    if wheel is None:
        return []
    onsets, tempo = track.notes.onset_ticks, track.timeline.tempo
    plan = _Plan(wheel, [_with_edges(region, wheel, tempo, onsets) for region in regions])
    taken = plan.changes()
    if not taken:
        return []
    edges, sent = plan.edges[plan.edges < _NEVER].tolist(), 0
    for event, tick, old in zip(
        wheel.events, wheel.ticks.tolist(), wheel.values.tolist(), strict=True
    ):
        while edges and edges[0] < tick:
            sent = _meet_edge(chunk, channel, plan, edges.pop(0), sent)
        if edges and edges[0] == tick:
            edges.pop(0)
        value = plan.value(old, tick)
        if value == sent and value != old:
            chunk.gone.add(event)
        elif value != old:
            chunk.replace(event, chunk.messages[event].copy(pitch=value))
        sent = value
    for edge in edges:
        sent = _meet_edge(chunk, channel, plan, edge, sent)
    return taken


def _meet_edge(chunk: Chunk, channel: int, plan: _Plan, tick: int, sent: int) -> int:
    """Bring the wheel to where it belongs at a tick at which a region begins or ends."""
    value = plan.value(plan.wheel.value_at(tick), tick)
    if value != sent:
        message: Message = mido.Message("pitchwheel", channel=channel - 1, pitch=value)
        chunk.insert(tick, message)
    return value


class _Plan:
    """Where the wheel belongs at each tick."""

    def __init__(self, wheel: _Wheel, regions: Sequence[Region]) -> None:
        self.wheel = wheel
        ends = [tick for region in regions for tick in (region.onset_ticks, region.release_ticks)]
        self.edges = np.unique(np.array(ends, np.int64))
        self._levels = np.full(len(self.edges) + 1, np.nan)
        for region in regions:
            first, after = np.searchsorted(self.edges, [region.onset_ticks, region.release_ticks])
            inside = self._levels[first + 1 : after + 1]
            # A slide within a note with vibrato is a slide.
            smaller = np.isnan(inside) | (np.abs(inside) > abs(region.level_cents))
            inside[smaller] = region.level_cents

    def changes(self) -> list[TakenOut]:
        """Every tick from which on the wheel stands elsewhere than it did, and how far."""
        taken = []
        for tick in np.union1d(self.wheel.ticks, self.edges[self.edges < _NEVER]).tolist():
            # Of several bends on one tick only the last is heard.
            old = self.wheel.value_at(tick)
            change = old - self.value(old, tick)
            if change:
                taken.append(TakenOut(tick, change * self.wheel.cents_per_step))
        return taken

    def value(self, value: int, tick: int) -> int:
        """The bend that takes the place of another at a tick."""
        per_step = self.wheel.cents_per_step
        level = float(self._levels[int(np.searchsorted(self.edges, tick, side="right"))])
        if np.isnan(level):
            return value if abs(value * per_step) <= PARAMS.in_tune_cents else 0
        return max(-_FULL_BEND, min(_FULL_BEND - 1, value - round(level / per_step)))


def _read_wheel(chunk: Chunk, channel: int, curves: ChannelCurves) -> _Wheel | None:
    events = [
        event
        for event, message in enumerate(chunk.messages)
        if message is not None and message.type == "pitchwheel" and message.channel == channel - 1
    ]
    if not events:
        return None
    ticks = np.array([chunk.ticks[event] for event in events], np.int64)
    values = np.array([chunk.messages[event].pitch for event in events], np.int64)
    return _Wheel(events, ticks, values, _cents_per_step(values, ticks, curves))


def _with_edges(
    region: Region, wheel: _Wheel, tempo: TempoMap, onsets: NDArray[np.int64]
) -> Region:
    """A slide is drawn from the middle and back to it: those bends belong to it too.

    As long as no note begins between.
    """
    onset, release = region.onset_ticks, region.release_ticks
    in_tune = wheel.ticks[~wheel.is_off]
    before, after = in_tune[in_tune <= onset], in_tune[in_tune >= release]
    if len(before) and _is_near(int(before[-1]), onset, tempo, onsets):
        onset = int(before[-1])
    if len(after) and _is_near(release, int(after[0]), tempo, onsets):
        release = int(after[0])
    return Region(onset, release, region.level_cents)


def _is_near(first: int, last: int, tempo: TempoMap, onsets: NDArray[np.int64]) -> bool:
    begun = np.searchsorted(onsets, [first, last], side="right")
    if begun[0] == begun[1] or onsets[begun[0]] == last:
        return True
    return tempo.second_at(last) - tempo.second_at(first) <= PARAMS.edge_s


def _cents_per_step(
    values: NDArray[np.int64], ticks: NDArray[np.int64], curves: ChannelCurves
) -> float:
    """Cents for each of the 8192 steps of the wheel, as reading took them."""
    is_heard = np.append(np.diff(ticks) > 0, True) & (values != 0)
    if is_heard.any():
        place = int(np.abs(np.where(is_heard, values, 0)).argmax())
        cents = float(curves.bend_cents.value_at_ticks(ticks[[place]])[0])
        if cents:
            return cents / float(values[place])
    return 100 * _ASSUMED_SEMITONES / _FULL_BEND
