"""A muted, flautando or merely touched string is asked for a fortissimo it does not have."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from mockcheck.checks._registry import check
from mockcheck.infer.dynamics import dynamic_name
from mockcheck.infer.shaping import loudness_confidence
from mockcheck.model.finding import Evidence, Observation, Severity
from mockcheck.model.played import PlayedPart
from mockcheck.params import Params, quantity

_COLOURS = {
    "con sordino": ("muted", "a mute takes the strength out of the tone", "f"),
    "sul tasto": ("sul tasto", "over the fingerboard a bow cannot lean on the string", "mf"),
    "harmonic": ("in harmonics", "a string that is only touched breaks when pressed", "f"),
    "col legno": ("col legno", "the wood of a bow has little strength", "f"),
}
"""How it is played, why it has a limit, and the most that comes of it."""


class LouderThanTheColourGives(Params):
    """Limits of the check."""

    con_sordino_below: float = quantity(
        105, unit="loudness 0-127", low=1, high=128, meaning="muted; ff begins here, f is left"
    )
    sul_tasto_below: float = quantity(
        96,
        unit="loudness 0-127",
        low=1,
        high=128,
        meaning="sul tasto; a clear f, about mf is left",
    )
    harmonic_below: float = quantity(
        105, unit="loudness 0-127", low=1, high=128, meaning="harmonics; ff begins here, f is left"
    )
    col_legno_below: float = quantity(
        105, unit="loudness 0-127", low=1, high=128, meaning="col legno; ff begins here, f is left"
    )
    least_s: float = quantity(
        2,
        unit="s",
        low=0,
        high=60,
        meaning="notes that are too loud, all together; less is an accent or two",
    )


@check(
    id="louder-than-the-colour-gives",
    family="realism",
    severity=Severity.REMARK,
    title="A colour is asked for a dynamic that it does not give.",
    params=LouderThanTheColourGives,
    needs_strings=False,
)
def find(part: PlayedPart, p: LouderThanTheColourGives) -> Iterator[Observation]:
    """Find colours that are turned up louder than a bow can make them.

    Why a player minds: a sampler turns any sound up; a player who presses to match it loses the
    colour that was asked for, and the tone breaks.
    Measured: the loudness of the notes con sordino, sul tasto, in harmonics or col legno against
    the dynamic at which the colour has no more to give. Reported once for a part and a colour,
    from two seconds in all.
    Fine when: the controller only balances this sound against the others and the page says a
    softer dynamic, or a strained sound is wanted.
    Source: common practice, no source.
    """
    notes = part.notes
    loudness = notes.velocity if part.loudness is None else part.loudness
    played = part.articulation
    sure = np.where(played.colour >= 0, played.colour_confidence, played.confidence)
    for colour, (how, why, most) in _COLOURS.items():
        limit = getattr(p, f"{colour.replace(' ', '_')}_below")
        rows = np.flatnonzero(played.is_any(colour) & (loudness >= limit))
        if not len(rows) or float(notes.duration_s[rows].sum()) < p.least_s:
            continue
        loudest = float(loudness[rows].max())
        many = f"{len(rows)} notes" if len(rows) > 1 else "A note"
        yield Observation(
            note_indices=tuple(rows.tolist()),
            message=(
                f"{many} {how} at {dynamic_name(loudest)}; {why}, so no more than"
                f" {most} comes of it."
            ),
            suggestion=(
                f"Write {most} in the part and balance it in the mix, or give the passage"
                " the full sound."
            ),
            evidence=(Evidence("loudness", round(loudest, 1), limit, "steps of 127"),),
            confidence=loudness_confidence(part, rows) * float(sure[rows].mean()),
        )
