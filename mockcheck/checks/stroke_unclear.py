"""Places where the mock-up leaves the stroke open."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from mockcheck.checks._open_strokes import (
    MIDDLING,
    TOUCHING,
    OpenStroke,
    disagreements,
    open_strokes,
)
from mockcheck.checks._registry import check
from mockcheck.model.finding import Evidence, Observation, Severity
from mockcheck.model.played import PlayedPart
from mockcheck.params import Params, quantity

_SHARE = "share of the time to the next onset"
_MEANS = (
    "staccato sounds for 0.45 (spread 0.15), detache for 0.80 (0.10), spiccato for 0.30 (0.12) of"
    " the time to the next onset; staccato on the piano 0.4 (Bresin and Battel, 2000), the others"
    " from memory"
)


class StrokeUnclear(Params):
    """Limits of the check."""

    unsure_below: float = quantity(
        0.75,
        unit="confidence of the stroke",
        low=0,
        high=1,
        meaning="touching notes heard as slurred or separate more surely than this are not asked"
        " about",
        source="three chances in four; a surer stroke is worth no question",
    )
    middling_from: float = quantity(
        0.6,
        unit=_SHARE,
        low=0.2,
        high=0.9,
        meaning="longer notes than this are longer than staccato usually is",
        source=_MEANS,
    )
    middling_to: float = quantity(
        0.7,
        unit=_SHARE,
        low=0.2,
        high=0.95,
        meaning="and shorter than this shorter than detache usually is",
        source=_MEANS,
    )
    clipped_from: float = quantity(
        0.33,
        unit=_SHARE,
        low=0.05,
        high=0.9,
        meaning="longer notes than this may be staccato as well as spiccato",
        source=_MEANS,
    )
    clipped_to: float = quantity(
        0.42,
        unit=_SHARE,
        low=0.1,
        high=0.9,
        meaning="and shorter than this spiccato as well as staccato",
        source=_MEANS,
    )
    bounce_slowest: float = quantity(
        3,
        unit="notes/s",
        low=0.5,
        high=10,
        meaning="slower notes are not bounced",
        source="spiccato 3 to 8 notes/s, from memory",
    )
    longest_short_s: float = quantity(
        0.3,
        unit="s",
        low=0.1,
        high=1,
        meaning="a longer sound is no short note, whatever rest follows it",
        source="as in listening for strokes; from memory",
    )
    touching_share: float = quantity(
        0.97,
        unit=_SHARE,
        low=0.9,
        high=1,
        meaning="notes that sound for more run into the next",
        source="from memory",
    )
    touching_joins: float = quantity(
        0.85,
        unit="share of the joins of a track",
        low=0.5,
        high=1,
        meaning="so many of its joins touch where a track says nothing about slurs: with gaps or"
        " overlaps beside them, touching notes mean something",
    )
    slowest_s: float = quantity(
        1,
        unit="s",
        low=0.2,
        high=10,
        meaning="of slower notes each has a bow of its own, and nobody asks for the stroke",
    )
    least_notes: float = quantity(
        8, unit="notes", low=3, high=100, meaning="fewer notes in a row are no texture"
    )
    least_s: float = quantity(
        4, unit="s", low=0.5, high=60, meaning="a shorter stretch is no texture either"
    )
    together_s: float = quantity(
        0.05,
        unit="s",
        low=0,
        high=0.5,
        meaning="notes of two tracks so close together are one note",
        source="the spread of onsets in ensembles, 49 ms: Rasch (1979)",
    )
    same_passage_s: float = quantity(
        30, unit="s", low=0, high=600, meaning="stretches closer together are one question"
    )


@check(
    id="stroke-unclear",
    family="reading",
    severity=Severity.REMARK,
    title="The mock-up leaves open how the notes are bowed.",
    params=StrokeUnclear,
    needs_strings=False,
)
def find(part: PlayedPart, p: StrokeUnclear) -> Iterator[Observation]:
    """Find stretches whose note lengths mean two strokes, and tracks that disagree about one.

    Why a player minds: the same notes slurred, bounced or thrown sound unlike each other. What the
    page does not say, every desk decides for itself, or asks.
    Measured: how long notes sound against the time to the next onset, over eight notes and more,
    where nothing says the stroke: between staccato and detache, between spiccato and staccato, or
    touching throughout a track, so that slurred and separate are heard with little confidence. And
    notes that two tracks of one part play at once with different strokes.
    Fine when: a switch, a program, a track name or the brief says the stroke; when notes are slow;
    or when the players may choose.
    Source: note lengths of strokes as named with the limits; that the page must say which is common
    practice.
    """
    for found in open_strokes(part, p):
        yield _ask(part, found, p)
    for found in disagreements(part, p):
        yield _ask_about_tracks(found, p)


def _ask(part: PlayedPart, found: OpenStroke, p: StrokeUnclear) -> Observation:
    rows = list(found.note_indices)
    lengths = f"{found.onsets} notes, {found.rate:.1f} a second, sound for {found.share:.0%}"
    may_bounce = found.rate >= p.bounce_slowest
    if found.kind == TOUCHING:
        message = (
            f"{found.onsets} notes, {found.rate:.1f} a second, run into each other and never"
            " overlap: one bow for several, or a bow for each."
        )
        suggestion = "Draw slurs over what goes in one bow, or write 'detache'"
        limit = p.touching_share
    elif found.kind == MIDDLING:
        message = f"{lengths} of the time to the next: longer than staccato, shorter than detache."
        suggestion = "Write 'detache' for a bow that stays on the string, dots for stopped notes"
        suggestion += ", or 'spiccato' for bounced ones" if may_bounce else ""
        limit = p.middling_to
    else:
        message = f"{lengths} of the time to the next: stopped on the string or bounced off it."
        suggestion = (
            "Write 'spiccato' for bounced notes, dots and 'on the string' for stopped ones, or"
            " 'ricochet' under a slur for thrown ones"
        )
        limit = p.clipped_to
    return Observation(
        note_indices=found.note_indices,
        message=message,
        suggestion=f"{suggestion}; or name the track's switches in the brief.",
        evidence=(
            Evidence("sounding share", round(found.share, 3), limit, "of the time to the next"),
            Evidence("confidence of the stroke", round(found.confidence, 3), p.unsure_below, "0-1"),
        ),
        confidence=float(1 - part.articulation.confidence[rows].mean()),
    )


def _ask_about_tracks(found: OpenStroke, p: StrokeUnclear) -> Observation:
    one, other = found.kind.split(" and ")
    return Observation(
        note_indices=found.note_indices,
        message=(
            f"{found.onsets} notes are on two tracks of this part at once, {one} on one and {other}"
            " on the other; a player reads one stroke."
        ),
        suggestion=(
            f"Write '{one}' or '{other}', or accents over the longer notes if that is the sound; or"
            " give the tracks to different players in the brief."
        ),
        evidence=(Evidence("notes on two tracks", found.onsets, p.least_notes, "notes"),),
        confidence=float(np.clip(found.confidence, 0, 1)),
    )
