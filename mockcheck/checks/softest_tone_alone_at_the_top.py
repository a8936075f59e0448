"""One player holds a triple piano where the fingerboard ends."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from mockcheck.checks._registry import check
from mockcheck.infer.shaping import loudness_confidence
from mockcheck.model.finding import Evidence, Observation, Severity
from mockcheck.model.played import PlayedPart
from mockcheck.params import Params, quantity


class SoftestToneAloneAtTheTop(Params):
    """Limits of the check; the height is the instrument's own, `comfortable_top`."""

    pp_from: float = quantity(
        25,
        unit="loudness 0-127",
        low=0,
        high=127,
        meaning="ppp lies below; a bow that soft hardly holds a short string",
    )
    held_s: float = quantity(
        1, unit="s", low=0.1, high=10, meaning="a shorter note is over before the tone breaks"
    )
    passage_gap_s: float = quantity(
        6, unit="s", low=0.5, high=120, meaning="notes closer together belong to one passage"
    )


@check(
    id="softest-tone-alone-at-the-top",
    family="realism",
    severity=Severity.REMARK,
    title="One player is to hold a very high note at the softest dynamic.",
    params=SoftestToneAloneAtTheTop,
)
def find(part: PlayedPart, p: SoftestToneAloneAtTheTop) -> Iterator[Observation]:
    """Find very high and very soft held notes that one player has to bring off alone.

    Why a player minds: high up the string is short and the bow has little to hold on to; at ppp
    every tremor is heard, and a soloist will play it at pp to be safe.
    Measured: notes of a second and more above what lies well on the instrument, at ppp, where one
    player has the part; harmonics and plucked notes left out.
    Fine when: a section plays it, where the players cover each other; it goes from nothing to
    triple forte anywhere in its range. Or the note may be a harmonic.
    Source: common practice, no source.
    """
    notes = part.notes
    if part.players > 1:
        return
    loudness = notes.velocity if part.loudness is None else part.loudness
    is_soft = (loudness < p.pp_from) & (notes.pitch > part.instrument.comfortable_top)
    is_soft &= (notes.duration_s >= p.held_s) & ~part.articulation.is_any("harmonic", "pizzicato")
    rows = np.flatnonzero(is_soft)
    gaps_s = notes.onset_s[rows][1:] - np.maximum.accumulate(notes.release_s[rows])[:-1]
    for passage in np.split(rows, np.flatnonzero(gaps_s > p.passage_gap_s) + 1):
        if not len(passage):
            continue
        highest = passage[notes.pitch[passage].argmax()]
        name = part.pitch_name(int(notes.pitch[highest]))
        held = f"{len(passage)} notes up to {name}" if len(passage) > 1 else name
        softest = float(loudness[passage].min())
        yield Observation(
            note_indices=tuple(passage.tolist()),
            message=f"One player is to hold {held} at ppp; so high and alone it will come at pp.",
            suggestion="Write pp, ask for a harmonic, or give it to several players.",
            evidence=(Evidence("loudness", round(softest, 1), p.pp_from, "steps of 127"),),
            confidence=loudness_confidence(part, passage),
        )
