"""Fast broken chords whose notes belong neither to a chord nor to the key."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from mockcheck.checks._registry import check
from mockcheck.checks._spelled import major_and_minor, names
from mockcheck.infer.arpeggios import Arpeggio, arpeggios
from mockcheck.model.finding import Evidence, Observation, Severity
from mockcheck.model.played import PlayedPart
from mockcheck.model.spelled import SpellingColumns, sounds_in_key
from mockcheck.params import Params, quantity


class ArpeggioLeavesTheKey(Params):
    """Limits of the check."""

    fast_from: float = quantity(
        6, unit="notes/s", low=2, high=20, meaning="slower leaps are read one by one"
    )
    least_notes: float = quantity(
        8, unit="notes", low=4, high=64, meaning="shorter ones are no long arpeggio"
    )
    foreign_from: float = quantity(
        3,
        unit="notes",
        low=1,
        high=32,
        meaning="so many notes outside both key and chord make a section stumble",
    )


@check(
    id="arpeggio-leaves-the-key",
    family="reading",
    severity=Severity.AWKWARD,
    title="A fast arpeggio goes through notes of no chord and no key.",
    params=ArpeggioLeavesTheKey,
)
def find(part: PlayedPart, p: ArpeggioLeavesTheKey) -> Iterator[Observation]:
    """Find long fast arpeggios that cannot be read as broken chords.

    Why a player minds: a broken chord is one thing to the eye and one shape under the hand; leaps
    to notes that make no chord have to be found one by one, and at speed some are not.
    Measured: fast notes in leaps, divided into broken triads and seventh chords as well as they
    can be; notes left over that are foreign to the key as well.
    Fine when: the tempo is slow, or the notes divide into chords, in whatever key.
    Source: scales and arpeggios as they are practised; common practice, no figure published.
    """
    if part.spelling is None:
        return
    for figure in arpeggios(part, p.fast_from, round(p.least_notes)):
        observed = _observe(part, part.spelling, figure, p)
        if observed is not None:
            yield observed


def _observe(
    part: PlayedPart, spelling: SpellingColumns, figure: Arpeggio, p: ArpeggioLeavesTheKey
) -> Observation | None:
    stray = figure.note_indices[list(figure.stray)]
    pitch, key = (
        column[stray].astype(np.int64) for column in (part.notes.pitch, spelling.key_fifths)
    )
    foreign = stray[~sounds_in_key(pitch, key)]
    if len(foreign) < p.foreign_from:
        return None
    odd, count = names(part, foreign, spelling.fifths[foreign]), len(figure.note_indices)
    return Observation(
        note_indices=tuple(figure.note_indices.tolist()),
        message=(
            f"{len(foreign)} of {count} notes in leaps, at {figure.rate:.1f} notes a second, {odd},"
            " belong to no chord that the arpeggio can be divided into, nor to"
            f" {major_and_minor(int(key[0]))}."
        ),
        suggestion=(
            "Bend the odd notes to the chord beside them, if only the gesture is wanted, or divide"
            " the figure over two desks, or leave it and give the players time to look at it."
        ),
        evidence=(
            Evidence("notes outside key and chord", len(foreign), p.foreign_from, "notes"),
            Evidence("rate", round(figure.rate, 1), p.fast_from, "notes/s"),
        ),
    )
