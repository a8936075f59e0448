"""A long cue that stays in the ordinary sound where another colour would suit."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.checks._registry import score_check
from mockcheck.checks._textures import Texture, has_dynamics, passages_of
from mockcheck.model.finding import Evidence, Observation, Severity
from mockcheck.model.played import PlayedPart
from mockcheck.params import Params, quantity
from mockcheck.playing.harmonics import harmonics

_REMEMBERED = "from memory; a matter of taste, so the limits are high"


class ColourUnused(Params):
    """Limits of the check."""

    long_cue_s: float = quantity(
        120,
        unit="s",
        low=30,
        high=3600,
        meaning="in a shorter cue nobody misses a colour",
        source=_REMEMBERED,
    )
    soft_below: float = quantity(
        57,
        unit="loudness 0-127",
        low=1,
        high=127,
        meaning="softer notes are p or less; mp begins here",
        source="the product's own table of dynamics",
    )
    slow_s: float = quantity(
        1, unit="s", low=0.2, high=20, meaning="shortest note of a slow texture"
    )
    veil_s: float = quantity(
        30,
        unit="s",
        low=5,
        high=600,
        meaning="soft, slow notes for so long suit a mute or sul tasto",
        source=_REMEMBERED,
    )
    mute_on_s: float = quantity(
        5,
        unit="s",
        low=0,
        high=60,
        meaning="rest before such a passage in which the mutes go on",
        source="as in no-time-for-change, at sight",
    )
    mute_off_s: float = quantity(
        3,
        unit="s",
        low=0,
        high=60,
        meaning="rest after it in which they come off",
        source="as in no-time-for-change, at sight",
    )
    shimmer_s: float = quantity(
        15,
        unit="s",
        low=2,
        high=600,
        meaning="soft tremolo for so long suits sul ponticello",
        source=_REMEMBERED,
    )
    glassy_s: float = quantity(
        12,
        unit="s",
        low=2,
        high=600,
        meaning="soft, high, held notes for so long suit harmonics",
        source=_REMEMBERED,
    )
    glassy_note_s: float = quantity(
        2, unit="s", low=0.5, high=20, meaning="shortest of them; a harmonic has to be found"
    )
    phrase_rest_s: float = quantity(
        2, unit="s", low=0.1, high=30, meaning="a longer silence ends a passage"
    )


@dataclass(frozen=True)
class _Offer:
    """One kind of colour: which passages suit it, and what to say."""

    colours: tuple[str, ...]
    lasts_s: float
    suits: Callable[[PlayedPart, ColourUnused], NDArray[np.bool_]]
    texture: str
    suggestion: str


@score_check(
    id="colour-unused",
    family="realism",
    severity=Severity.REMARK,
    title="A long cue never uses a colour that would suit it.",
    params=ColourUnused,
    needs_strings=False,
)
def find(
    parts: tuple[PlayedPart, ...], p: ColourUnused
) -> Iterator[tuple[PlayedPart, Observation]]:
    """Find the one place of a long cue that suits a mute, sul tasto, sul ponticello or harmonics.

    Why a player minds: nobody does; it is an offer. Mute and ponticello change a texture more than
    any number of notes, cost a word on the page, and are forgotten because they need another patch.
    Measured: seconds of soft, slow, sustained notes (mute where there are rests to handle it, else
    sul tasto), of soft tremolo (sul ponticello), and of soft, high, held notes that have an easy
    natural harmonic. Only in a cue of two minutes or more that never uses the colour, only where
    dynamics are drawn, and once a cue for each kind: the longest passage.
    Fine when: the plain sound is meant, or the cue is short.
    Source: common practice, no source; what suits is taste.
    """
    with_notes = [part for part in parts if len(part.notes)]
    onset_s = min((float(part.notes.onset_s[0]) for part in with_notes), default=0.0)
    cue_s = max((float(part.notes.release_s.max()) for part in with_notes), default=0.0) - onset_s
    if cue_s < p.long_cue_s:
        return
    for offer in _offers(p):
        if any(part.articulation.is_any(*offer.colours).any() for part in with_notes):
            continue
        found = [
            (part, passage)
            for part in with_notes
            if has_dynamics(part)
            for passage in passages_of(part, offer.suits(part, p), p.phrase_rest_s)
            if passage.lasts_s >= offer.lasts_s
        ]
        if found:
            part, passage = max(found, key=lambda row: (row[1].lasts_s, row[0].name))
            yield part, _observe(part, passage, offer, cue_s, p)


def _observe(
    part: PlayedPart, passage: Texture, offer: _Offer, cue_s: float, p: ColourUnused
) -> Observation:
    suggestion = offer.suggestion
    if "con sordino" in offer.colours:
        has_rests = passage.rest_before_s >= p.mute_on_s and passage.rest_after_s >= p.mute_off_s
        colour = "con sordino, since there is time for the mutes" if has_rests else "sul tasto"
        suggestion = suggestion.format(colour=colour)
    return Observation(
        note_indices=passage.note_indices,
        message=(
            f"{passage.lasts_s:.0f} s of {offer.texture}, in a cue of {cue_s / 60:.0f} minutes"
            f" that never uses {' or '.join(offer.colours)}."
        ),
        suggestion=suggestion,
        evidence=(
            Evidence(offer.texture, round(passage.lasts_s, 1), offer.lasts_s, "s"),
            Evidence("length of the cue", round(cue_s, 1), p.long_cue_s, "s"),
        ),
        confidence=float(part.articulation.confidence[list(passage.note_indices)].mean()),
    )


def _offers(p: ColourUnused) -> tuple[_Offer, ...]:
    return (
        _Offer(
            ("con sordino", "sul tasto"),
            p.veil_s,
            _is_veiled,
            "soft, slow, sustained notes",
            "Try it {colour}; or leave it, if the plain sound is what you want.",
        ),
        _Offer(
            ("sul ponticello",),
            p.shimmer_s,
            _shimmers,
            "soft tremolo",
            "Try some of it sul ponticello, which makes it glassy; or leave it plain.",
        ),
        _Offer(
            ("harmonic",),
            p.glassy_s,
            _is_glassy,
            "soft, high, held notes",
            "Try them as natural harmonics, which ring without vibrato; or leave them stopped.",
        ),
    )


def _is_soft(part: PlayedPart, p: ColourUnused) -> NDArray[np.bool_]:
    loudness = part.notes.velocity if part.loudness is None else part.loudness
    return np.asarray(loudness < p.soft_below, np.bool_)


def _is_veiled(part: PlayedPart, p: ColourUnused) -> NDArray[np.bool_]:
    sustained = part.articulation.is_any("legato", "detache", "portato")
    return sustained & _is_soft(part, p) & (part.notes.duration_s >= p.slow_s)


def _shimmers(part: PlayedPart, p: ColourUnused) -> NDArray[np.bool_]:
    return part.articulation.is_any("tremolo") & _is_soft(part, p)


def _is_glassy(part: PlayedPart, p: ColourUnused) -> NDArray[np.bool_]:
    if part.instrument.is_ensemble:
        return np.zeros(len(part.notes), np.bool_)
    octave_up = part.instrument.open_strings[0] + 12
    ringing = [
        pitch
        for pitch in np.unique(part.notes.pitch).tolist()
        if pitch >= octave_up
        and any(
            way.kind == "natural" and way.verdict == "easy"
            for way in harmonics(part.instrument, pitch)
        )
    ]
    is_held = part.notes.duration_s >= p.glassy_note_s
    return _is_veiled(part, p) & is_held & np.isin(part.notes.pitch, ringing)
