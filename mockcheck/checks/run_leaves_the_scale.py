"""Fast runs with notes that belong to no scale players have practised."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from mockcheck.checks._registry import check
from mockcheck.checks._spelled import in_row, names
from mockcheck.infer.scale_runs import ScaleRun, scale_runs
from mockcheck.infer.spelled_parts import as_imported
from mockcheck.model.finding import Evidence, Observation, Severity
from mockcheck.model.played import PlayedPart
from mockcheck.model.spelled import SpellingColumns
from mockcheck.params import Params, quantity


class RunLeavesTheScale(Params):
    """Limits of the check."""

    fast_from: float = quantity(
        8,
        unit="notes/s",
        low=3,
        high=20,
        meaning="slower runs are read note by note",
        source="suggested with the rule by the reference; no published figure",
    )
    least_notes: float = quantity(
        8, unit="notes", low=4, high=64, meaning="shorter runs are a turn or a scale's end"
    )
    foreign_from: float = quantity(
        2,
        unit="notes outside the scale",
        low=1,
        high=16,
        meaning="fewer are an accidental that anybody reads",
        source="common practice; a harmonic or melodic minor counts as a scale",
    )


@check(
    id="run-leaves-the-scale",
    family="reading",
    severity=Severity.AWKWARD,
    title="A fast run has notes that break the scale it seems to be.",
    params=RunLeavesTheScale,
)
def find(part: PlayedPart, p: RunLeavesTheScale) -> Iterator[Observation]:
    """Find fast runs that look like a scale and are none.

    Why a player minds: a run is read as its scale, first note and last; the fingers know the rest.
    Notes outside it are missed at sight, or cost a take, and at speed nobody hears them.
    Measured: fast notes by step, and of all major, minor and whole-tone scales the one that most of
    them belong to; pieces of the chromatic scale and single neighbours that return are left out.
    Awkward where several notes fall outside.
    Fine when: the odd notes are meant to be heard, or the players have time to practise.
    Source: an orchestrator's notes on exotic scale runs (film scoring); common practice.
    """
    for run in scale_runs(part, p.fast_from, round(p.least_notes)):
        if part.spelling is not None and len(run.scale.foreign) >= p.foreign_from:
            yield _observe(part, part.spelling, run, p)


def _observe(
    part: PlayedPart, spelling: SpellingColumns, run: ScaleRun, p: RunLeavesTheScale
) -> Observation:
    rows, scale = run.note_indices, run.scale
    foreign = rows[list(scale.foreign)]
    odd = names(part, foreign, spelling.fifths[foreign])
    signature = np.full(len(rows), scale.signature_fifths)
    plain = in_row(part, scale.plain, as_imported(scale.plain, signature))
    return Observation(
        note_indices=tuple(rows.tolist()),
        message=(
            f"At {run.rate:.1f} notes a second {len(foreign)} of {len(rows)} notes, {odd}, fall"
            f" outside {scale.name}, the scale that the run looks like."
        ),
        suggestion=(
            f"Keep to {scale.name}, if nobody is meant to hear the odd notes: {plain}; or leave the"
            " run as it is and give the players time to look at it."
        ),
        evidence=(
            Evidence("notes outside the scale", len(foreign), p.foreign_from, "notes"),
            Evidence("rate", round(run.rate, 1), p.fast_from, "notes/s"),
        ),
    )
