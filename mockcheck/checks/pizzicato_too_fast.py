"""Plucked notes faster than a finger plucks."""

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


class PizzicatoTooFast(Params):
    """Limits of the check."""

    violin_notes_per_s: float = quantity(
        6.7,
        unit="notes/s",
        low=1,
        high=20,
        meaning="one finger plucking, short burst, violin",
        source="from memory",
    )
    viola_notes_per_s: float = quantity(
        6,
        unit="notes/s",
        low=1,
        high=20,
        meaning="one finger plucking, short burst, viola",
        source="from memory",
    )
    cello_notes_per_s: float = quantity(
        6,
        unit="notes/s",
        low=1,
        high=20,
        meaning="one finger plucking, short burst, cello",
        source="from memory",
    )
    double_bass_notes_per_s: float = quantity(
        5,
        unit="notes/s",
        low=1,
        high=20,
        meaning="one finger plucking, short burst, bass",
        source="from memory",
    )
    solo_factor: float = quantity(
        1.3,
        unit="times the section's rate",
        low=1,
        high=3,
        meaning="what a soloist with two plucking fingers adds",
        source="8 notes a second by two fingers against 6 by one, cello; handbook question thread",
    )
    impossible_factor: float = quantity(
        2,
        unit="times the section's rate",
        low=1,
        high=5,
        meaning="from here on two plucking fingers fail too",
        source="tapping of one finger ends at 5 to 7 a second (Neuroscience Letters 459, 2009,"
        " pp. 69-73); two fingers at most double it",
    )
    window_notes: float = quantity(
        6,
        unit="notes",
        low=3,
        high=64,
        meaning="notes looked at together",
    )


@check(
    id="pizzicato-too-fast",
    family="speed",
    severity=Severity.RISKY,
    title="Plucked notes come faster than a finger plucks.",
    params=PizzicatoTooFast,
)
def find(part: PlayedPart, p: PizzicatoTooFast) -> Iterator[Observation]:
    """Find pizzicato faster than one plucking finger.

    Why a player minds: one finger does all the plucking; beyond its rate notes drop out, and the
    fingertip suffers when it goes on.
    Measured: plucked onsets in windows of six, notes per second, by instrument. Risky above one
    finger's rate; impossible above twice that.
    Fine when: the part is a soloist's with two alternating fingers (level solo allows more).
    Source: Rimsky-Korsakov, Principles of Orchestration, chapter 1, has plucked passages slower
    than bowed ones and the bass slowest; the rates themselves are from memory.
    """
    line = strokes(part)
    if not len(line.row):
        return
    one_finger = {
        "viola": p.viola_notes_per_s,
        "cello": p.cello_notes_per_s,
        "double bass": p.double_bass_notes_per_s,
    }.get(instrument_family(part), p.violin_notes_per_s)
    limit = one_finger * (p.solo_factor if part.session.level is Level.SOLO else 1)
    limit *= part.session.tempo_share
    counted = part.articulation.is_any("pizzicato")[line.note]
    needed = np.full(len(line.onset_s), 1 / limit)
    for found in fast_passages(line.onset_s, needed, counted, int(p.window_notes)):
        rows = tuple(line.note[found.first : found.after].tolist())
        hopeless = found.notes_per_s > one_finger * p.impossible_factor
        yield Observation(
            note_indices=rows,
            message=(
                f"{len(rows)} plucked notes at {found.notes_per_s:.1f} a second; one finger plucks"
                f" {limit:.1f} at most."
            ),
            suggestion="Give every other note to the other desk, thin the figure, or bow it short.",
            evidence=(
                Evidence(
                    "plucked notes per second",
                    round(found.notes_per_s, 2),
                    round(limit, 2),
                    "notes/s",
                ),
            ),
            confidence=float(part.articulation.confidence[list(rows)].min()),
            severity=Severity.IMPOSSIBLE if hopeless else Severity.RISKY,
        )
