"""Held notes under which the loudness does not move."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from mockcheck.checks._names import names_of
from mockcheck.checks._registry import score_check
from mockcheck.infer.shaping import held_notes, loudness_range
from mockcheck.model.finding import Evidence, Observation, Severity
from mockcheck.model.played import PlayedPart
from mockcheck.params import Params, quantity


class HeldNotesStayLevel(Params):
    """Limits of the check."""

    held_s: float = quantity(
        4,
        unit="s",
        low=1,
        high=30,
        meaning="a shorter note is over before the ear asks where it goes",
    )
    level_travel: float = quantity(
        3,
        unit="steps of 127",
        low=1,
        high=20,
        meaning="a curve that moves less under a note is a straight line",
        source="measured: where a player's dynamics were put into published quartets, the curve"
        " moves by 6 steps and more under notes of four seconds, 19 in 20",
    )
    least_notes: float = quantity(
        3, unit="notes", low=1, high=100, meaning="one or two still notes may be meant"
    )
    level_share: float = quantity(
        50,
        unit="% of the held notes",
        low=0,
        high=100,
        meaning="where fewer stay level, the others show that it is meant",
    )
    least_undrawn_notes: float = quantity(
        6,
        unit="notes",
        low=1,
        high=100,
        meaning="held notes in parts that no controller shapes; fewer are no reason to draw one",
    )
    changing_from: float = quantity(
        8,
        unit="steps of 127",
        low=0,
        high=64,
        meaning="a part whose loudness moves by less from beginning to end is said to never change,"
        " once for the file, and not again here",
    )
    undrawn_confidence: float = quantity(
        0.8,
        unit="confidence",
        low=0,
        high=1,
        meaning="dynamics may live where an export does not reach, in the mix of the sequencer",
    )


@score_check(
    id="held-notes-stay-level",
    family="realism",
    severity=Severity.REMARK,
    title="Held notes stay at one loudness from onset to release.",
    params=HeldNotesStayLevel,
    needs_strings=False,
)
def find(
    parts: tuple[PlayedPart, ...], p: HeldNotesStayLevel
) -> Iterator[tuple[PlayedPart, Observation]]:
    """Find long notes that neither grow nor fade.

    Why a player minds: a bow cannot hold a tone quite level, and no section wants to: a held note
    leads somewhere or dies away. Level for seconds, it is heard as an organ.
    Measured: how far the drawn loudness moves under notes of four seconds and more, plucked ones
    left out. Reported for a part where three or more notes, and half of all that long, move by
    less than a hair; once for all parts together that no controller shapes.
    Fine when: stillness is meant, as in a pedal point or a sound without expression, or the file is
    a plain export of a notation program.
    Source: common practice, no source; what counts as level is measured, see the parameters.
    """
    undrawn = []
    for part in parts:
        if loudness_range(part) < p.changing_from:
            continue
        held = held_notes(part, p.held_s)
        level = np.concatenate(
            [np.empty(0, np.int64), *(own.rows[own.travel < p.level_travel] for own in held)]
        )
        if not any(curve.is_drawn for curve in part.dynamics):
            undrawn.append((part, level))
            continue
        total = sum(len(own.rows) for own in held)
        if len(level) >= p.least_notes and 100 * len(level) / total >= p.level_share:
            sure = min(own.curve.confidence for own in held)
            yield part, _observe(part, level, f"{len(level)} of {total} held notes", sure, p)
    count = sum(len(level) for _, level in undrawn)
    if count >= p.least_undrawn_notes:
        named = [part for part, level in undrawn if len(level)]
        part, level = max(undrawn, key=lambda item: (len(item[1]), item[0].name))
        what = f"No controller shapes {names_of(named, len(parts))}, so {count} held notes"
        yield part, _observe(part, level, what, p.undrawn_confidence, p)


def _observe(
    part: PlayedPart,
    level: NDArray[np.int64],
    what: str,
    confidence: float,
    p: HeldNotesStayLevel,
) -> Observation:
    rows = np.sort(level)
    longest_s = float(part.notes.duration_s[rows].max())
    return Observation(
        note_indices=tuple(rows.tolist()),
        message=(
            f"{what} stay at one loudness from onset to release, the longest for {longest_s:.0f} s;"
            " a section lets a held note grow or die away."
        ),
        suggestion=(
            "Draw a slow rise or fall of a dynamic's width under them, or leave them still where"
            " stillness is meant and say so in the part."
        ),
        evidence=(
            Evidence("level held notes", len(rows), p.least_notes, "notes"),
            Evidence("longest level note", round(longest_s, 1), p.held_s, "s"),
        ),
        confidence=confidence,
    )
