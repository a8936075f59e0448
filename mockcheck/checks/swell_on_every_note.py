"""Every held note swells and fades by itself."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from mockcheck.checks._registry import check
from mockcheck.infer.shaping import HeldNotes, held_notes
from mockcheck.model.columns import stretches
from mockcheck.model.finding import Evidence, Observation, Severity
from mockcheck.model.played import PlayedPart
from mockcheck.params import Params, quantity


class SwellOnEveryNote(Params):
    """Limits of the check."""

    held_s: float = quantity(
        0.5, unit="s", low=0.3, high=5, meaning="a shorter note has no room for a swell"
    )
    least_swell: float = quantity(
        8,
        unit="steps of 127",
        low=2,
        high=64,
        meaning="a note that rises and falls by less, half of one dynamic, has life in it",
    )
    least_notes: float = quantity(
        8,
        unit="notes in a row",
        low=2,
        high=100,
        meaning="fewer swells in a row may be a phrase of sighs",
        source="measured: where a player's phrases were put into 14 published quartets, no more"
        " than 5 held notes in a row swell",
    )
    most_between_s: float = quantity(
        2,
        unit="s",
        low=0,
        high=30,
        meaning="from the release of one held note to the onset of the next; beyond it they are"
        " not in a row",
    )
    alike_place: float = quantity(
        0.05,
        unit="share of the note",
        low=0,
        high=0.5,
        meaning="peaks that stray less (standard deviation) come from one shape pasted",
    )
    alike_size: float = quantity(
        0.15,
        unit="share of the swell",
        low=0,
        high=1,
        meaning="swells that differ less in size (standard deviation over mean) are one shape",
    )


@check(
    id="swell-on-every-note",
    family="realism",
    severity=Severity.REMARK,
    title="Each held note has a swell of its own.",
    params=SwellOnEveryNote,
    needs_strings=False,
)
def find(part: PlayedPart, p: SwellOnEveryNote) -> Iterator[Observation]:
    """Find rows of held notes that all swell and fade, one by one.

    Why a player minds: a swell is kept for a note that leads somewhere; on every note it cuts the
    line into pieces, and players would ask for the hairpins to go.
    Measured: held notes in a row that rise by at least half a dynamic and fall by as much before
    they end. A remark from eight notes in a row; awkward when all have one shape, with the peak at
    one place and of one size.
    Fine when: each note is meant to bloom by itself, as in a lament of sighs or old music played
    with a swell on each long note.
    Source: common practice, no source; the number in a row is measured, see the parameters.
    """
    for held in held_notes(part, p.held_s):
        onset_s, release_s = part.notes.onset_s[held.rows], part.notes.release_s[held.rows]
        is_apart = onset_s[1:] - release_s[:-1] > p.most_between_s
        for places in np.split(np.arange(len(held.rows)), np.flatnonzero(is_apart) + 1):
            for begin, after in stretches(held.swell[places] >= p.least_swell):
                if after - begin >= p.least_notes:
                    yield _observe(held, places[begin:after], p)


def _observe(held: HeldNotes, row: NDArray[np.int64], p: SwellOnEveryNote) -> Observation:
    swell, place = held.swell[row], held.peak_place[row]
    count, mean = len(swell), float(swell.mean())
    is_alike = place.std() <= p.alike_place and swell.std() <= p.alike_size * mean
    alike = ", all in one shape" if is_alike else ""
    return Observation(
        note_indices=tuple(held.rows[row].tolist()),
        message=(
            f"{count} held notes in a row swell and fade by themselves, by {mean:.0f} of 127 steps"
            f" on average{alike}; a section shapes the phrase, not each note."
        ),
        suggestion=(
            "Draw one rise and fall over the phrase, or keep the swell for the note it leads to."
        ),
        evidence=(
            Evidence("swells in a row", count, p.least_notes, "notes"),
            Evidence("mean swell", round(mean, 1), p.least_swell, "steps of 127"),
        ),
        confidence=held.curve.confidence,
        severity=Severity.AWKWARD if is_alike else Severity.REMARK,
    )
