"""Audible slides: moves of the bend from note to note, into a note or out of it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from mockcheck.infer.bend_spans import is_joined, note_spans
from mockcheck.infer.bends import bend_curve
from mockcheck.infer.glides import Glide, find_glides
from mockcheck.infer.onsets import first_rows, group_onsets
from mockcheck.infer.pitch_lines import PitchLine, pitch_lines
from mockcheck.model.notes import Notes
from mockcheck.model.played import Role, Slide
from mockcheck.model.score import Track
from mockcheck.params import Params, quantity


class SlideParams(Params):
    """How moves of the bend and notes belong together."""

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
_SURE, _NEAR, _LOOSE = 0.95, 0.75, 0.6


def find_bend_slides(
    notes: Notes,
    role: Role,
    track: Track,
    range_semitones: float | None,
    range_trust: float = 1.0,
) -> list[Slide]:
    """Slides drawn with the bend; note indices are rows of `notes`.

    Parameters
    ----------
    notes
        The music of one review row, in time order.
    range_semitones
        The bend range of the brief, or one that was found; it counts only where the file sets none.
    range_trust
        How sure that range is (0-1).

    Returns
    -------
    In time order. From note to note: portamento, or glissando when long. Into a note from nowhere:
    scoop. Out of a note into silence: fall. One slide for each onset and channel, of its top note.
    """
    bends = {channel: bend_curve(track, channel, range_semitones) for channel in role.channels}
    bends = {channel: bend for channel, bend in bends.items() if len(bend)}
    if not bends or not len(notes):
        return []
    near = _Neighbours(notes)
    slides = []
    for line in pitch_lines(note_spans(notes, tuple(bends)), bends):
        channel = int(notes.channel[line.notes[0]])
        trust = 1.0
        if track.curves(channel).bend_range_assumed:
            trust = SLIDES.assumed_range_trust if range_semitones is None else range_trust
        slides += [
            _slide(near.place(glide, line), role, track, trust) for glide in find_glides(line)
        ]
    return sorted(slides, key=lambda slide: (slide.onset_ticks, slide.from_note))


@dataclass(frozen=True)
class _Move:
    """A glide and the notes it leads from and to; to_note -1 for none."""

    glide: Glide
    from_note: int
    to_note: int
    kind: str
    confidence: float


class _Neighbours:
    """The notes a glide may lead to and from."""

    def __init__(self, notes: Notes) -> None:
        self.notes = notes
        self.group = group_onsets(notes.onset_s, notes.release_s)
        self.first = np.append(first_rows(self.group), len(notes))

    def place(self, glide: Glide, line: PitchLine) -> _Move:
        """Find out where a glide comes from and where it leads."""
        low, high = glide.from_cents / 100, glide.to_cents / 100
        begins, ends = line.notes[glide.first], line.notes[glide.last]
        if begins != ends:
            sure = _SURE if self._is_at(begins, low) and self._is_at(ends, high) else _NEAR
            return _Move(glide, begins, ends, "", sure * _clearness(glide))
        since_onset_s = glide.begin_s - line.begin_s[glide.first]
        until_s = [*line.begin_s[1:], line.until_s][glide.last]
        until_end_s = min(until_s, float(self.notes.release_s[ends])) - glide.end_s
        from_note, kind, confidence = self._come_from(begins, low, high, since_onset_s)
        to_note = ends
        if not self._is_at(ends, high):
            to_note, left_kind, left_confidence = self._lead_to(ends, low, high, until_end_s)
            confidence = min(confidence, left_confidence)
            kind = left_kind or ("" if to_note != ends else kind)
        return _Move(glide, from_note, to_note, kind, confidence * _clearness(glide))

    def _come_from(
        self, note: int, low: float, high: float, since_onset_s: float
    ) -> tuple[int, str, float]:
        """The note a move leaves: its own, the one before, or none, which makes it a scoop."""
        if self._is_at(note, low):
            return note, "", _SURE
        before = self._neighbour(note, -1, low) if since_onset_s < SLIDES.edge_s else None
        if before is not None and self._is_at(before, low):
            return before, "", _SURE
        is_soon = since_onset_s < SLIDES.edge_s
        is_soon |= since_onset_s < SLIDES.scoop_s and self._is_at(note, high)
        return note, "scoop" if is_soon else "", _NEAR

    def _lead_to(
        self, note: int, low: float, high: float, until_end_s: float
    ) -> tuple[int, str, float]:
        """The note a move reaches or makes for; a move into silence or aside is a fall."""
        after = self._neighbour(note, +1, high)
        if after is not None and self._is_at(after, high):
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

    def _is_at(self, note: int, pitch: float) -> bool:
        """Whether a pitch is the one a note is written with."""
        return bool(abs(100 * (self.notes.pitch[note] - pitch)) <= SLIDES.match_cents)


def _clearness(glide: Glide) -> float:
    """A short or narrow move may be an ordinary join; 0.75 at the limits, 1 well beyond them."""
    duration = min((glide.end_s - glide.begin_s) / 0.06 - 1.0, 1.0)
    extent = min(abs(glide.travel_cents) / 80 - 1.0, 1.0)
    return 0.75 + 0.125 * (max(duration, 0.0) + extent)


def _slide(move: _Move, role: Role, track: Track, trust: float) -> Slide:
    glide = move.glide
    duration_s = glide.end_s - glide.begin_s
    long_or_short = "glissando" if duration_s > SLIDES.glissando_s else "portamento"
    onset, release = track.timeline.tempo.ticks_at(np.array([glide.begin_s, glide.end_s])).tolist()
    return Slide(
        track=role.index,
        from_note=move.from_note,
        to_note=move.to_note,
        onset_ticks=onset,
        release_ticks=max(release, onset + 1),
        from_pitch=round(glide.from_cents / 100, 2),
        to_pitch=round(glide.to_cents / 100, 2),
        duration_ms=round(1000 * duration_s, 1),
        kind=move.kind or long_or_short,
        source="bend",
        confidence=round(move.confidence * trust, 3),
    )
