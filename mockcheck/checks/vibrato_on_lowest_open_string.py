"""Vibrato on the one note that no finger touches."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from mockcheck.checks._registry import check
from mockcheck.model.finding import Evidence, Observation, Severity
from mockcheck.model.played import PlayedPart
from mockcheck.params import Params, quantity


class VibratoOnLowestOpenString(Params):
    """Limits of the check."""

    long_s: float = quantity(
        1,
        unit="s",
        low=0.2,
        high=20,
        meaning="on shorter notes nobody misses the vibrato",
    )
    vibrato_cents_per_s: float = quantity(
        100,
        unit="cents/s",
        low=10,
        high=2000,
        meaning="a bend that goes to and fro so much is vibrato",
        source="arithmetic: twice a width of 12 cents, 4 times a second; vibrato of violinists is"
        " 34 cents wide at 6.5 Hz in the middle, measured on transcribed recordings of Paganini's"
        " caprices",
    )


@check(
    id="vibrato-on-lowest-open-string",
    family="realism",
    severity=Severity.REMARK,
    title="The lowest open string is asked to vibrate.",
    params=VibratoOnLowestOpenString,
)
def find(part: PlayedPart, p: VibratoOnLowestOpenString) -> Iterator[Observation]:
    """Find long notes on the lowest open string whose pitch moves to and fro.

    Why a player minds: no finger stops the lowest open string and no other string has the note,
    so it cannot vibrate; it will sound straighter and harder than the mock-up.
    Measured: the way the bend goes during a note at the lowest open pitch, in cents a second. A
    remark, because the note is there and only its colour differs.
    Fine when: the note is short, plucked or a harmonic, or the bend makes a slide.
    Source: geometry of the strings; rate and width of vibrato are named with the limit.
    """
    notes = part.notes
    sliding = {note for slide in part.slides for note in (slide.from_note, slide.to_note)}
    length_s = notes.duration_s
    pace = part.bend_travel_cents / np.maximum(length_s, 1e-6)
    chosen = (
        (notes.pitch == part.instrument.lowest)
        & (length_s >= p.long_s)
        & (pace >= p.vibrato_cents_per_s)
        & ~part.articulation.is_any("pizzicato", "harmonic", "tremolo", "trill")
    )
    rows = [row for row in np.flatnonzero(chosen).tolist() if row not in sliding]
    if not rows:
        return
    name = part.pitch_name(part.instrument.lowest)
    count = "A long note" if len(rows) == 1 else f"{len(rows)} long notes"
    yield Observation(
        note_indices=tuple(rows),
        message=(
            f"{count} on the open {name} string with vibrato; no finger is on it, so it will sound"
            " straight."
        ),
        suggestion=(
            "Take the vibrato out to hear what will be played, or raise the line a semitone or"
            " more; players may shake the octave above for a faint echo of it."
        ),
        evidence=(
            Evidence(
                "way of the bend in a second",
                round(float(pace[rows].max()), 1),
                p.vibrato_cents_per_s,
                "cents/s",
            ),
        ),
        confidence=0.8,
    )
