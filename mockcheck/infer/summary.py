"""The numbers of each track row: how much, how high, how fast, how much sliding."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.joins import slidable_joins
from mockcheck.model.played import PlayedPart, PlayedScore, Role
from mockcheck.model.review import TrackSummary

_PEAK_WINDOW_S = 1.0


def summarise(played: PlayedScore) -> tuple[TrackSummary, ...]:
    """One summary for each row of the track list, left-out rows with their reason."""
    part_of = played.part_of_role()
    counts = {track.index: track.notes for track in played.score.tracks}
    rows = []
    for role in played.roles:
        part = part_of.get(role.index)
        if part is None:
            notes = counts[role.track_index]
            total = int(np.isin(notes.channel, role.channels).sum())
            rows.append(_left_out(role, total))
        else:
            rows.append(_reviewed(role, part))
    return tuple(rows)


def _left_out(role: Role, notes: int) -> TrackSummary:
    return TrackSummary(
        index=role.index,
        name=role.name,
        instrument=role.instrument,
        part=role.part,
        players=0,
        confidence=round(role.confidence, 3),
        evidence=role.evidence,
        notes=notes,
        left_out=role.left_out or "no notes but switches",
    )


def _reviewed(role: Role, part: PlayedPart) -> TrackSummary:
    rows = np.flatnonzero(part.track == role.index)
    notes = part.notes.select(rows)
    if not len(notes):
        return _left_out(role, 0)
    joins = slidable_joins(part)
    join_count = int((part.track[joins[:, 0]] == role.index).sum())
    slides = sum(slide.track == role.index for slide in part.slides)
    span_s = max(float(notes.release_s.max() - notes.onset_s.min()), 1e-3)
    onsets = np.unique(notes.onset_s)
    return TrackSummary(
        index=role.index,
        name=role.name,
        instrument=part.instrument.id,
        part=part.name,
        players=part.players,
        confidence=round(role.confidence, 3),
        evidence=role.evidence,
        notes=len(notes),
        left_out=None,
        lowest=int(notes.pitch.min()),
        highest=int(notes.pitch.max()),
        peak_notes_per_s=_peak_rate(onsets),
        mean_notes_per_s=round(len(onsets) / span_s, 3),
        headroom=None if part.headroom is None else round(part.headroom, 4),
        headroom_at=None if part.headroom is None else part.locate_onset(part.headroom_tick),
        slides=slides,
        slides_per_100_transitions=round(100 * slides / max(join_count, 1), 2),
        slides_per_minute=round(60 * slides / span_s, 2),
        articulations=_articulation_seconds(part, rows),
    )


def _peak_rate(onset_s: NDArray[np.float64]) -> float:
    """Most onsets within any second."""
    after = np.searchsorted(onset_s, onset_s + _PEAK_WINDOW_S, side="left")
    return float((after - np.arange(len(onset_s))).max()) / _PEAK_WINDOW_S


def _articulation_seconds(
    part: PlayedPart, rows: NDArray[np.int64]
) -> tuple[tuple[str, float], ...]:
    seconds: dict[str, float] = {}
    word = part.articulation.word[rows]
    for code in np.unique(word):
        chosen = rows[word == code]
        name = part.articulation.name(int(chosen[0]))
        seconds[name] = round(float(part.notes.duration_s[chosen].sum()), 3)
    return tuple(sorted(seconds.items()))
