"""Held notes and slurs that outlast the bow."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby
from math import ceil, sqrt

import numpy as np

from mockcheck.checks._bows import LongBow, long_bows
from mockcheck.checks._registry import check
from mockcheck.infer.dynamics import dynamic_name
from mockcheck.model.finding import Evidence, Observation, Severity
from mockcheck.model.played import PlayedPart
from mockcheck.params import Params, quantity
from mockcheck.playing.bow import comfortable_bow_s, longest_bow_s

_LOUDEST = 127


class BowRunsOut(Params):
    """Limits of the check; how long a bow lasts is part of the playing model."""

    longest_share: float = quantity(
        1,
        unit="share of the longest bow",
        low=0.2,
        high=5,
        meaning="a longer line is reported; less asks for a fuller tone",
    )
    risky_factor: float = quantity(
        2,
        unit="times the longest bow",
        low=1,
        high=20,
        meaning="one player's held note has to be broken more than once from here on",
        source="arithmetic: two changes of bow",
    )
    impossible_factor: float = quantity(
        4,
        unit="times the longest bow",
        low=1,
        high=20,
        meaning="no slur has ever been drawn under one bow for so much longer",
        source="practice bows near silence last 40 s, at most 60 (violinists' practice notes),"
        " against 12 s in a pp that is heard: 3.3 to 5 times",
    )
    same_passage_s: float = quantity(
        2,
        unit="s",
        low=0,
        high=60,
        meaning="a section's long lines closer together than this are reported together",
    )


@check(
    id="bow-runs-out",
    family="bow",
    severity=Severity.AWKWARD,
    title="A held note or a slur lasts longer than one bow.",
    params=BowRunsOut,
)
def find(part: PlayedPart, p: BowRunsOut) -> Iterator[Observation]:
    """Find lines that no single bow carries at their dynamic.

    Why a player minds: the bow has an end; where the line is not broken for them, players change
    where they must, and one player's change is heard.
    Measured: seconds from the first onset of a slur or held note to its release, against the
    longest bow at its loudness. One player: awkward above it, a held note risky above twice it
    (every player changes bow on it, and says nothing); a slur impossible where even without its
    longest note it takes four times as long, since it asks for one bow. A section: a remark, since
    its players change one after another.
    Fine when: the notes are plucked, a tremolo or a trill; or a player is told where to change.
    Source: slurs counted in 116 open string quartet scores, an orchestrator's note on bow lengths,
    and bow speeds over usable hair; named with each number of the playing model.
    """
    shortest_s = p.longest_share * longest_bow_s(part.instrument, _LOUDEST)
    too_long = [
        bow
        for bow in long_bows(part, shortest_s)
        if bow.duration_s > p.longest_share * longest_bow_s(part.instrument, bow.loudness) + 1e-6
    ]
    if part.players > 1:
        for passage in _passages(part, too_long, p.same_passage_s):
            yield _for_section(part, passage, p)
        return
    for bow in too_long:
        yield _for_one(part, bow, p)


def _for_one(part: PlayedPart, bow: LongBow, p: BowRunsOut) -> Observation:
    longest_s = p.longest_share * longest_bow_s(part.instrument, bow.loudness)
    ratio = bow.duration_s / longest_s
    dynamic = dynamic_name(bow.loudness)
    bows = _bows_needed(part, bow)
    severity = Severity.AWKWARD
    if bow.onsets == 1 and ratio > p.risky_factor:
        severity = Severity.RISKY
    elif bow.slurred_s > p.impossible_factor * longest_s and bow.is_drawn:
        severity = Severity.IMPOSSIBLE
    if bow.onsets == 1:
        what = f"A note held for {bow.duration_s:.1f} s"
        suggestion = (
            f"Let the player change bow {'once' if bows == 2 else f'about {bows - 1} times'} and"
            " say where, shorten the note, or hand it over to another player."
        )
    else:
        what = f"{bow.onsets} notes slurred for {bow.duration_s:.1f} s"
        suggestion = (
            f"Break the slur into about {bows} bows, best on the beats; or keep it as a phrase mark"
            " and say that the bowing is free."
        )
    return Observation(
        note_indices=bow.note_indices,
        message=f"{what}: one bow at {dynamic} lasts {longest_s:.1f} s at most.",
        suggestion=suggestion,
        evidence=_evidence(bow, longest_s),
        confidence=_confidence(part, bow),
        severity=severity,
    )


def _for_section(part: PlayedPart, passage: list[LongBow], p: BowRunsOut) -> Observation:
    worst = max(
        passage, key=lambda bow: bow.duration_s / longest_bow_s(part.instrument, bow.loudness)
    )
    longest_s = p.longest_share * longest_bow_s(part.instrument, worst.loudness)
    rows = tuple(sorted({row for bow in passage for row in bow.note_indices}))
    return Observation(
        note_indices=rows,
        message=(
            f"The line goes on for {worst.duration_s:.1f} s without a change of bow and one bow at"
            f" {dynamic_name(worst.loudness)} lasts {longest_s:.1f} s at most; staggered bowing"
            " covers it."
        ),
        suggestion=(
            "Leave it and let the players change one after another, or write the changes where the"
            " phrase breathes."
        ),
        evidence=_evidence(worst, longest_s),
        confidence=_confidence(part, worst),
        severity=Severity.REMARK,
    )


def _passages(part: PlayedPart, bows: list[LongBow], gap_s: float) -> Iterator[list[LongBow]]:
    """Long lines that follow each other or sound together."""
    numbers, number, until_s = [], 0, float("-inf")
    for bow in bows:
        begin_s = float(part.notes.onset_s[bow.note_indices[0]])
        number += begin_s > until_s + gap_s
        until_s = max(until_s, begin_s + bow.duration_s)
        numbers.append(number)
    pairs = zip(numbers, bows, strict=True)
    for _, group in groupby(pairs, key=lambda pair: pair[0]):
        yield [bow for _, bow in group]


def _bows_needed(part: PlayedPart, bow: LongBow) -> int:
    """Between the comfortable and the longest bow, so that nobody has to hurry or to save."""
    comfortable_s = comfortable_bow_s(part.instrument, bow.loudness)
    longest_s = longest_bow_s(part.instrument, bow.loudness)
    return max(ceil(bow.duration_s / sqrt(comfortable_s * longest_s)), 2)


def _evidence(bow: LongBow, longest_s: float) -> tuple[Evidence, ...]:
    return (Evidence("time under one bow", round(bow.duration_s, 2), round(longest_s, 2), "s"),)


def _confidence(part: PlayedPart, bow: LongBow) -> float:
    """A held note is certain, a slur as sure as its stroke; half where no dynamics are drawn."""
    sure = 1.0
    if bow.onsets > 1:
        sure = float(part.articulation.confidence[list(bow.note_indices)].min())
    heard, velocity = part.loudness, part.notes.velocity
    is_drawn = heard is not None and bool(np.ptp(heard) > 0 or np.any(heard != velocity))
    return sure if is_drawn else sure / 2
