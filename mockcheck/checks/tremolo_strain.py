"""Loud tremolo that goes on too long."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from mockcheck.checks._registry import check
from mockcheck.infer.dynamics import dynamic_name
from mockcheck.model.finding import Evidence, Observation, Severity
from mockcheck.model.played import PlayedPart
from mockcheck.params import Params, quantity


class TremoloStrain(Params):
    """Limits of the check."""

    loud_from: float = quantity(
        88,
        unit="loudness 0-127",
        low=1,
        high=127,
        meaning="softer tremolo is not reported; f begins here",
    )
    tiring_s: float = quantity(
        30,
        unit="s",
        low=1,
        high=600,
        meaning="loud tremolo without a rest that the arm begins to feel",
    )
    straining_s: float = quantity(
        90,
        unit="s",
        low=1,
        high=600,
        meaning="loud tremolo after which a rest or another desk is due",
    )
    least_rest_s: float = quantity(
        2,
        unit="s",
        low=0,
        high=60,
        meaning="a shorter silence, or other notes for no longer, gives the arm no rest",
    )


@check(
    id="tremolo-strain",
    family="bow",
    severity=Severity.REMARK,
    title="A loud tremolo goes on without a rest.",
    params=TremoloStrain,
    needs_strings=False,
)
def find(part: PlayedPart, p: TremoloStrain) -> Iterator[Observation]:
    """Find loud tremolo long enough to tire the arm.

    Why a player minds: fast loud strokes are made with a tensed arm; kept up they ache, the tone
    goes, and with take after take they can hurt a player.
    Measured: seconds of tremolo at forte or louder over all tracks of the part, until two seconds
    bring silence or something else. A remark from half a minute, awkward from a minute and a half.
    Fine when: the tremolo is soft, or the desks alternate.
    Source: common practice, no source; players differ, and what a player or a physician says
    about strain counts more than any figure here.
    """
    notes = part.notes
    loudness = notes.velocity if part.loudness is None else part.loudness
    rows = np.flatnonzero(part.articulation.is_any("tremolo") & (loudness >= p.loud_from))
    if not len(rows):
        return
    until_s = np.maximum.accumulate(notes.release_s[rows])
    cuts = np.flatnonzero(notes.onset_s[rows][1:] - until_s[:-1] >= p.least_rest_s) + 1
    for passage in np.split(rows, cuts):
        lasts_s = float(notes.release_s[passage].max() - notes.onset_s[passage[0]])
        if lasts_s <= p.tiring_s + 1e-6:
            continue
        is_straining = lasts_s > p.straining_s + 1e-6
        dynamic = dynamic_name(float(loudness[passage].mean()))
        yield Observation(
            note_indices=tuple(passage.tolist()),
            message=(
                f"Tremolo at {dynamic} for {lasts_s:.0f} s without a rest; an arm feels it after"
                f" about {p.tiring_s:.0f} s, and should not be kept at it beyond"
                f" {p.straining_s:.0f} s."
            ),
            suggestion=(
                "Let the desks alternate, write rests or a softer stretch, and rehearse it briefly;"
                " a player who feels strain stops, and takes professional advice before this."
            ),
            evidence=(
                Evidence(
                    "loud tremolo without a rest",
                    round(lasts_s, 1),
                    p.straining_s if is_straining else p.tiring_s,
                    "s",
                ),
            ),
            confidence=float(part.articulation.confidence[passage].mean()),
            severity=Severity.AWKWARD if is_straining else Severity.REMARK,
        )
