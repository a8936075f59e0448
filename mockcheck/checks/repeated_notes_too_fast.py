"""Repeated notes faster than the bow changes direction."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from mockcheck.checks._levels import instrument_family
from mockcheck.checks._registry import check
from mockcheck.infer.rates import fast_passages, strokes
from mockcheck.model.finding import Evidence, Observation, Severity
from mockcheck.model.played import PlayedPart
from mockcheck.model.session import Level
from mockcheck.params import Params, quantity

_SECTIONS = "score-to-recording alignments of open orchestral scores, measured tremolo"


class RepeatedNotesTooFast(Params):
    """Limits of the check, for violin, viola and cello."""

    sight_notes_per_s: float = quantity(
        12,
        unit="notes/s",
        low=1,
        high=40,
        meaning="repeated notes that a section counts out at sight",
        source=f"typical rate in {_SECTIONS}",
    )
    rehearsed_notes_per_s: float = quantity(
        13.8,
        unit="notes/s",
        low=1,
        high=40,
        meaning="repeated notes that rehearsed players count out",
        source=_SECTIONS,
    )
    solo_notes_per_s: float = quantity(
        15.6,
        unit="notes/s",
        low=1,
        high=40,
        meaning="fastest measured tremolo found in a recording",
        source=_SECTIONS,
    )
    double_bass_share: float = quantity(
        0.75,
        unit="share of the violin's rate",
        low=0.2,
        high=1,
        meaning="bass against violin",
        source="from memory",
    )
    window_notes: float = quantity(
        8,
        unit="notes",
        low=3,
        high=64,
        meaning="notes looked at together",
    )


@check(
    id="repeated-notes-too-fast",
    family="speed",
    severity=Severity.RISKY,
    title="Repeated notes come faster than the bow can count them out.",
    params=RepeatedNotesTooFast,
)
def find(part: PlayedPart, p: RepeatedNotesTooFast) -> Iterator[Observation]:
    """Find one pitch or chord repeated faster than counted strokes go.

    Why a player minds: every note is a turn of the arm; above a rate the strokes are still there
    but no longer counted or together, and a long loud passage strains the arm.
    Measured: onsets of one repeated pitch or chord in windows of eight, notes per second. Risky
    above the level's rate; never impossible, because a tremolo in free speed takes its place.
    Fine when: the part is marked as an unmeasured tremolo, or the notes are plucked (see
    pizzicato-too-fast).
    Source: alignments of recordings with open orchestral scores, named with each limit.
    """
    line = strokes(part)
    if not len(line.row):
        return
    limit = {
        Level.SIGHT: p.sight_notes_per_s,
        Level.REHEARSED: p.rehearsed_notes_per_s,
        Level.SOLO: p.solo_notes_per_s,
    }[part.session.level] * part.session.tempo_share
    if instrument_family(part) == "double bass":
        limit *= p.double_bass_share
    counted = line.is_repeat & ~part.articulation.is_any("pizzicato")[line.note]
    needed = np.full(len(line.onset_s), 1 / limit)
    for found in fast_passages(line.onset_s, needed, counted, int(p.window_notes)):
        rows = tuple(line.note[found.first : found.after].tolist())
        yield Observation(
            note_indices=rows,
            message=(
                f"{len(rows)} repeated notes at {found.notes_per_s:.1f} a second;"
                f" {limit:.1f} is the fastest that is still counted together."
            ),
            suggestion=(
                "Write an unmeasured tremolo, or halve the notes. A long loud tremolo tires the"
                " arm: leave rests or let the desks alternate, and ask the players."
            ),
            evidence=(
                Evidence(
                    "repeated notes per second",
                    round(found.notes_per_s, 2),
                    round(limit, 2),
                    "notes/s",
                ),
            ),
        )
