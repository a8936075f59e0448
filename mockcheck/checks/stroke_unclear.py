"""Places where the mock-up leaves the stroke open."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from mockcheck.checks._open_strokes import (
    MIDDLING,
    TOUCHING,
    OpenStroke,
    StrokeUnclear,
    disagreements,
    open_strokes,
)
from mockcheck.checks._registry import check
from mockcheck.model.finding import Evidence, Observation, Severity
from mockcheck.model.played import PlayedPart


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
