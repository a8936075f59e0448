"""A tight passage in words: used by the checks that read the search over fingerings."""

from __future__ import annotations

import numpy as np

from mockcheck.infer.thinning import suggest_thinning
from mockcheck.model.finding import Evidence, Observation, Severity
from mockcheck.model.played import PlayedPart, TightPassage

ORNAMENT_NOTES = 4
"""So few quick notes are an ornament, which players place freely; common practice, no source."""
_BURST_STEPS = 3
_UNEVEN = 1.3
"""A passage is as fast as its fastest four notes when these are so much faster than the whole."""


def observe_passage(part: PlayedPart, passage: TightPassage, what: str) -> Observation:
    """How far the passage is from playable, what decides it, and which tempo would do."""
    rows = passage.note_indices
    onset_ticks = part.notes.onset_ticks[list(rows)]
    level = part.session.level_name
    written = part.timeline.tempo.bpm_at(int(onset_ticks[0]))
    tempo = f"{passage.headroom:.0%} of the written tempo"
    if written is not None:
        low, high = written / passage.ratio_high, written / passage.ratio_low
        tempo = f"quarter = {low:.0f}-{high:.0f}; written {written:.0f}"
    is_ornament = not passage.is_leap and len(rows) <= ORNAMENT_NOTES
    nobody = passage.solo_ratio_low > 1 and not is_ornament
    whose = "even a practised soloist" if nobody else f"players at level {level}"
    return Observation(
        note_indices=rows,
        message=(
            f"{len(rows)} {what} at {_rate(part, passage)}, too fast for {whose}:"
            f" {passage.binding} would take {passage.needed_ms:.0f} ms, and there are"
            f" {passage.available_ms:.0f}."
        ),
        suggestion=f"Play it at {tempo}; or {_other_ways(part, passage)}.",
        evidence=(
            Evidence("headroom", round(passage.headroom, 3), 1, "of the written tempo"),
            Evidence(
                "time of the deciding movement",
                round(passage.available_ms, 1),
                round(passage.needed_ms, 1),
                "ms",
            ),
        ),
        confidence=float(part.articulation.confidence[list(rows)].min()) if not nobody else 1.0,
        severity=Severity.IMPOSSIBLE if nobody else Severity.RISKY,
        span_ticks=(int(onset_ticks[0]), int(onset_ticks[-1])),
    )


def _rate(part: PlayedPart, passage: TightPassage) -> str:
    """How fast it goes; of a passage that also has slow notes, how fast at the worst place."""
    onset_s = np.unique(part.notes.onset_s[list(passage.note_indices)])
    span = min(_BURST_STEPS, len(onset_s) - 1)
    fastest = span / float(np.min(onset_s[span:] - onset_s[:-span])) if span else 0.0
    if fastest > _UNEVEN * passage.notes_per_s:
        return f"up to {fastest:.0f} a second"
    return f"{passage.notes_per_s:.1f} a second"


def _other_ways(part: PlayedPart, passage: TightPassage) -> str:
    """What to write instead, ending without a stop."""
    if passage.is_leap:
        return "put one of the two notes an octave nearer, or give them to different desks"
    thinner = suggest_thinning(part, passage).removesuffix(".")
    if thinner:
        return f"{thinner[0].lower()}{thinner[1:]}"
    if part.players > 1:
        return "write a simpler figure, or divide it between desks"
    return "write a simpler figure, or share it with another part"
