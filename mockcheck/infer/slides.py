"""Audible slides: moves of the bend from note to note, into a note or out of it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.glides import Glide, Spans, find_glides
from mockcheck.infer.onsets import first_rows, group_onsets
from mockcheck.model.curves import Curve
from mockcheck.model.notes import Notes
from mockcheck.model.played import Role, Slide
from mockcheck.model.score import Track
from mockcheck.params import Params, quantity


class SlideParams(Params):
    """How moves of the bend and notes belong together."""

    join_s: float = quantity(
        0.12, unit="s", low=0.02, high=0.5, meaning="notes with a longer gap are not joined"
    )
    join_share: float = quantity(
        0.15,
        unit="share of the time from onset to onset",
        low=0,
        high=0.5,
        meaning="unless the gap is a smaller share than this: notes drawn a little short",
    )
    match_cents: float = quantity(
        60, unit="cents", low=20, high=100, meaning="a move this close to a note's pitch reaches it"
    )
    edge_s: float = quantity(
        0.08,
        unit="s",
        low=0.02,
        high=0.2,
        meaning="a move this close to the begin or end of a note touches it",
        source="from memory: a plateau of 50 ms is heard as a pitch",
    )
    scoop_s: float = quantity(
        0.2,
        unit="s",
        low=0.05,
        high=0.5,
        meaning="a move that begins this soon and ends on the note's pitch approaches the note",
    )
    glissando_s: float = quantity(
        0.5,
        unit="s",
        low=0.2,
        high=2,
        meaning="a longer slide is a glissando, a shorter one a portamento",
        source="longest audible portamento of early recordings 0.5 s, from memory",
    )
    assumed_range_trust: float = quantity(
        0.8,
        unit="share of the confidence",
        low=0,
        high=1,
        meaning="what is left of it when the file does not say how far its wheel bends",
    )


SLIDES = SlideParams()
ASSUMED_RANGE_SEMITONES = 2.0
"""What the reading took where no message set the range. Source: General MIDI System Level 1."""

_SURE, _NEAR, _LOOSE = 0.95, 0.75, 0.6


def bend_curve(track: Track, channel: int, range_semitones: float | None) -> Curve:
    """Bend of the notes on one channel, cents; the brief's range replaces an assumed one.

    Under MIDI Polyphonic Expression the manager channel's bend is added.
    """
    own = track.curves(channel)
    bend = own.bend_cents
    if range_semitones is not None and own.bend_range_assumed:
        scale = range_semitones / ASSUMED_RANGE_SEMITONES
        bend = Curve(bend.ticks, bend.time_s, bend.values * scale, bend.default * scale)
    if track.mpe is None or channel not in track.mpe.member_channels:
        return bend
    manager = track.curves(track.mpe.manager_channel).bend_cents
    if len(manager) == 0:
        return bend
    ticks, rows = np.unique(np.concatenate([bend.ticks, manager.ticks]), return_index=True)
    time_s = np.concatenate([bend.time_s, manager.time_s])[rows]
    total = bend.value_at_ticks(ticks) + manager.value_at_ticks(ticks)
    return Curve(ticks, time_s, total, bend.default + manager.default)


def bend_at_onset(
    notes: Notes, role: Role, track: Track, range_semitones: float | None
) -> NDArray[np.float64]:
    """Bend in force when each note begins, cents, shape (n,); one sent at that tick counts."""
    cents = np.zeros(len(notes))
    for channel in role.channels:
        rows = notes.channel == channel
        if rows.any():
            curve = bend_curve(track, channel, range_semitones)
            cents[rows] = curve.value_at_ticks(notes.onset_ticks[rows])
    return cents


def find_bend_slides(
    notes: Notes, role: Role, track: Track, range_semitones: float | None
) -> list[Slide]:
    """Slides drawn with the bend; note indices are rows of `notes`.

    Parameters
    ----------
    notes
        The music of one review row, in time order.
    range_semitones
        The bend range of the brief; it counts only where the file sets none.

    Returns
    -------
    In time order. From note to note: portamento, or glissando when long. Into a note from nowhere:
    scoop. Out of a note into silence: fall. One slide for each onset and channel, of its top note.
    """
    line = _Line(notes, bend_at_onset(notes, role, track, range_semitones))
    slides = []
    for channel in role.channels:
        rows = np.flatnonzero(notes.channel == channel)
        curve = bend_curve(track, channel, range_semitones)
        if len(rows) == 0 or len(curve) == 0:
            continue
        tops, spans = _spans(notes, rows)
        is_assumed = track.curves(channel).bend_range_assumed and range_semitones is None
        trust = SLIDES.assumed_range_trust if is_assumed else 1.0
        moves = [
            line.place(glide, int(tops[glide.span]), spans) for glide in find_glides(curve, spans)
        ]
        slides += [_slide(move, role, track, trust) for move in _joined_halves(moves)]
    return sorted(slides, key=lambda slide: (slide.onset_ticks, slide.from_note))


def _spans(notes: Notes, rows: NDArray[np.int64]) -> tuple[NDArray[np.int64], Spans]:
    """Top note and claim on the bend of each onset of one channel."""
    first = first_rows(group_onsets(notes.onset_s[rows], notes.release_s[rows]))
    tops = rows[np.append(first[1:], len(rows)) - 1]
    begin_s = notes.onset_s[rows[first]]
    release_s = np.maximum.reduceat(notes.release_s[rows], first)
    next_s = np.append(begin_s[1:], np.inf)
    # A bend that goes on through a small gap leads on to the next note.
    until_s = np.where(is_joined(begin_s, release_s, next_s), next_s, release_s)
    return tops, Spans(begin_s, until_s, np.minimum(release_s, until_s))


def is_joined(
    onset_s: NDArray[np.float64], release_s: NDArray[np.float64], next_s: NDArray[np.float64]
) -> NDArray[np.bool_]:
    """Whether a note leads on to the next onset without a rest."""
    with np.errstate(invalid="ignore"):
        allowed = np.maximum(SLIDES.join_s, SLIDES.join_share * (next_s - onset_s))
    return np.isfinite(next_s) & (next_s - release_s <= allowed)


@dataclass(frozen=True)
class _Move:
    """A glide and the notes it leads from and to; to_note -1 for none."""

    note: int
    from_note: int
    to_note: int
    begin_s: float
    end_s: float
    from_pitch: float
    to_pitch: float
    kind: str
    confidence: float
    is_leaving: bool
    is_arriving: bool


class _Line:
    """The notes a glide may lead to and from."""

    def __init__(self, notes: Notes, bend_cents: NDArray[np.float64]) -> None:
        self.notes = notes
        self.group = group_onsets(notes.onset_s, notes.release_s)
        self.first = np.append(first_rows(self.group), len(notes))
        self.sounding = notes.pitch + bend_cents / 100

    def place(self, glide: Glide, note: int, spans: Spans) -> _Move:
        """Find out where a glide comes from and where it leads."""
        pitch = float(self.notes.pitch[note])
        low, high = pitch + glide.from_cents / 100, pitch + glide.to_cents / 100
        since_onset_s = glide.begin_s - float(spans.begin_s[glide.span])
        until_end_s = float(spans.until_s[glide.span]) - glide.end_s
        from_note, kind, confidence = self._come_from(note, low, high, since_onset_s)
        to_note = note
        if not self._settles(note, high):
            to_note, left_kind, left_confidence = self._lead_to(note, low, high, until_end_s)
            confidence = min(confidence, left_confidence)
            kind = left_kind or ("" if to_note != note else kind)
        return _Move(
            note=note,
            from_note=from_note,
            to_note=to_note,
            begin_s=glide.begin_s,
            end_s=glide.end_s,
            from_pitch=low,
            to_pitch=high,
            kind=kind,
            confidence=confidence * _clearness(glide),
            is_leaving=until_end_s < SLIDES.edge_s,
            is_arriving=since_onset_s < SLIDES.edge_s,
        )

    def _come_from(
        self, note: int, low: float, high: float, since_onset_s: float
    ) -> tuple[int, str, float]:
        """The note a move leaves: its own, the one before, or none, which makes it a scoop."""
        if self._settles(note, low):
            return note, "", _SURE
        before = self._neighbour(note, -1, low) if since_onset_s < SLIDES.edge_s else None
        if before is not None and self._reaches(before, low):
            return before, "", _SURE
        is_soon = since_onset_s < SLIDES.edge_s
        is_soon |= since_onset_s < SLIDES.scoop_s and self._settles(note, high)
        return note, "scoop" if is_soon else "", _NEAR

    def _lead_to(
        self, note: int, low: float, high: float, until_end_s: float
    ) -> tuple[int, str, float]:
        """The note a move reaches or makes for; a move into silence or aside is a fall."""
        after = self._neighbour(note, +1, high)
        if after is not None and self._reaches(after, high):
            return after, "", _SURE
        if until_end_s >= SLIDES.edge_s:
            return note, "", _NEAR
        if after is not None:
            interval = float(self.notes.pitch[after] - self.notes.pitch[note])
            if interval * (high - low) > 0:
                return after, "", _NEAR
        return -1, "fall", _LOOSE if after is not None else _NEAR

    def _neighbour(self, note: int, step: int, pitch: float) -> int | None:
        """Of the joined onset before or after, the note nearest to a pitch."""
        number = int(self.group[note]) + step
        if not 0 <= number < len(self.first) - 1:
            return None
        rows = np.arange(self.first[number], self.first[number + 1])
        chosen = int(rows[np.argmin(np.abs(self.notes.pitch[rows] - pitch))])
        left, right = (note, chosen) if step > 0 else (chosen, note)
        onset_s, release_s = self.notes.onset_s, self.notes.release_s
        joined = is_joined(
            onset_s[left : left + 1], release_s[left : left + 1], onset_s[right : right + 1]
        )
        return chosen if joined[0] else None

    def _reaches(self, note: int, pitch: float) -> bool:
        """Whether a pitch is that of a note as written or as it sounds at its onset."""
        error = min(abs(self.notes.pitch[note] - pitch), abs(self.sounding[note] - pitch))
        return bool(100 * error <= SLIDES.match_cents)

    def _settles(self, note: int, pitch: float) -> bool:
        """Whether a move ends on the pitch its own note is written with."""
        return bool(abs(100 * (self.notes.pitch[note] - pitch)) <= SLIDES.match_cents)


def _clearness(glide: Glide) -> float:
    """A short or narrow move may be an ordinary join; 0.75 at the limits, 1 well beyond them."""
    duration = min((glide.end_s - glide.begin_s) / 0.06 - 1.0, 1.0)
    extent = min(abs(glide.travel_cents) / 80 - 1.0, 1.0)
    return 0.75 + 0.125 * (max(duration, 0.0) + extent)


def _joined_halves(moves: list[_Move]) -> Iterator[_Move]:
    """A slide drawn half on the note it leaves and half on the one it reaches is one slide."""
    waiting: _Move | None = None
    for move in moves:
        if waiting is not None and _continues(waiting, move):
            waiting = _Move(
                note=move.note,
                from_note=waiting.from_note,
                to_note=move.to_note,
                begin_s=waiting.begin_s,
                end_s=move.end_s,
                from_pitch=waiting.from_pitch,
                to_pitch=move.to_pitch,
                kind="" if move.to_note >= 0 else move.kind,
                confidence=max(waiting.confidence, move.confidence),
                is_leaving=move.is_leaving,
                is_arriving=waiting.is_arriving,
            )
            continue
        if waiting is not None:
            yield waiting
        waiting = move
    if waiting is not None:
        yield waiting


def _continues(one: _Move, two: _Move) -> bool:
    same_way = (one.to_pitch - one.from_pitch) * (two.to_pitch - two.from_pitch) > 0
    meets = abs(one.to_pitch - two.from_pitch) <= SLIDES.match_cents / 100
    near = two.begin_s - one.end_s <= SLIDES.join_s
    return one.is_leaving and two.is_arriving and same_way and meets and near


def _slide(move: _Move, role: Role, track: Track, trust: float) -> Slide:
    duration_s = move.end_s - move.begin_s
    long_or_short = "glissando" if duration_s > SLIDES.glissando_s else "portamento"
    onset, release = track.timeline.tempo.ticks_at(np.array([move.begin_s, move.end_s])).tolist()
    return Slide(
        track=role.index,
        from_note=move.from_note,
        to_note=move.to_note,
        onset_ticks=onset,
        release_ticks=max(release, onset + 1),
        from_pitch=round(move.from_pitch, 2),
        to_pitch=round(move.to_pitch, 2),
        duration_ms=round(1000 * duration_s, 1),
        kind=move.kind or long_or_short,
        source="bend",
        confidence=round(move.confidence * trust, 3),
    )
