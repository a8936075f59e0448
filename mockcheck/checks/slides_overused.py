"""More slides than the style has."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from mockcheck.checks._registry import check
from mockcheck.infer.joins import slidable_joins
from mockcheck.model.finding import Evidence, Observation, Severity
from mockcheck.model.played import PlayedPart, Slide
from mockcheck.params import Params, quantity

_REMEMBERED = "order of magnitude, from memory; no printed count per join was found"


class SlidesOverused(Params):
    """Limits of the check."""

    modern_per_100_joins: float = quantity(
        3,
        unit="slides per 100 joins",
        low=0,
        high=100,
        meaning="what a modern section does",
        source=_REMEMBERED,
    )
    romantic_per_100_joins: float = quantity(
        10,
        unit="slides per 100 joins",
        low=0,
        high=100,
        meaning="what suits a very romantic melody",
        source=_REMEMBERED,
    )
    comic_per_100_joins: float = quantity(
        40,
        unit="slides per 100 joins",
        low=0,
        high=100,
        meaning="what suits a comic turn",
        source=_REMEMBERED,
    )
    modern_per_minute: float = quantity(
        4,
        unit="slides per minute",
        low=0,
        high=200,
        meaning="what a modern section does: one slide in ten bars of a slow melody, three notes"
        " in four being elsewhere",
        source=_REMEMBERED,
    )
    romantic_per_minute: float = quantity(
        15,
        unit="slides per minute",
        low=0,
        high=200,
        meaning="what suits a very romantic melody",
        source=_REMEMBERED,
    )
    comic_per_minute: float = quantity(
        40,
        unit="slides per minute",
        low=0,
        high=200,
        meaning="what suits a comic turn",
        source=_REMEMBERED,
    )
    passage_gap_s: float = quantity(
        6,
        unit="s",
        low=0.5,
        high=120,
        meaning="slides closer together than this belong to one passage",
    )
    least_slides: float = quantity(
        3,
        unit="slides",
        low=1,
        high=50,
        meaning="fewer slides in a passage are never too many",
    )


@check(
    id="slides-overused",
    family="slides",
    severity=Severity.AWKWARD,
    title="There are more slides than the style has.",
    params=SlidesOverused,
    needs_strings=False,
)
def find(part: PlayedPart, p: SlidesOverused) -> Iterator[Observation]:
    """Find passages where notes slide more often than players of this style would.

    Why a player minds: a slide is kept for a few chosen notes; written everywhere it makes the
    section sound drunk, and every player asks whether it is meant.
    Measured: slides of a passage against the joins in it that could slide, per 100 joins and per
    minute. Awkward when both lie above the style's profile with nine chances in ten or better,
    counting slides by their confidence.
    Fine when: the brief says style = "romantic" or "comic", or there are only two or three.
    Source: recordings show slides in decline since the 1930s (The phonograph effect, chapter on
    portamento; arXiv 2604.22037); the profiles are remembered orders of magnitude.
    """
    style = part.session.style
    per_join = getattr(p, f"{style}_per_100_joins")
    per_minute = getattr(p, f"{style}_per_minute")
    join_s = part.notes.onset_s[slidable_joins(part)[:, 1]]
    for slides in _passages(part, p.passage_gap_s):
        if len(slides) < p.least_slides:
            continue
        first = min(slide.onset_ticks for slide in slides)
        last = max(slide.release_ticks for slide in slides)
        start_s, end_s = part.timeline.tempo.seconds_at(np.array([first, last]))
        joins = max(int(((join_s >= start_s) & (join_s <= end_s + 0.1)).sum()), len(slides))
        minutes = max((end_s - start_s) / 60, p.passage_gap_s / 60)
        weight = sum(slide.confidence for slide in slides)
        rate, pace = 100 * weight / joins, weight / minutes
        if _lower_bound(weight, joins) * 100 <= per_join or pace <= per_minute:
            continue
        rows = sorted({max(slide.from_note, 0) for slide in slides})
        keep = _worth_keeping(slides)
        yield Observation(
            note_indices=tuple(rows),
            message=(
                f"{len(slides)} slides on {joins} joins; in {style} style about"
                f" {max(1, round(joins * per_join / 100))} would be heard here."
            ),
            suggestion=(
                f"Keep the slide from {part.pitch_name(keep.from_pitch)} to"
                f" {part.pitch_name(keep.to_pitch)} and take out the others, or name the style in"
                " the brief."
            ),
            evidence=(
                Evidence("slides per 100 joins", round(rate, 1), per_join, "slides/100 joins"),
                Evidence("slides per minute", round(pace, 1), per_minute, "slides/min"),
            ),
            confidence=weight / len(slides),
            span_ticks=(first, last),
        )


def _passages(part: PlayedPart, gap_s: float) -> Iterator[list[Slide]]:
    """Slides of one track that follow each other closely."""
    for role in part.roles:
        own = sorted(
            (slide for slide in part.slides if slide.track == role.index),
            key=lambda slide: slide.onset_ticks,
        )
        passage: list[Slide] = []
        for slide in own:
            if passage:
                ends = np.array([passage[-1].release_ticks, slide.onset_ticks])
                left, right = part.timeline.tempo.seconds_at(ends)
                if right - left > gap_s:
                    yield passage
                    passage = []
            passage.append(slide)
        if passage:
            yield passage


def _worth_keeping(slides: list[Slide]) -> Slide:
    """The widest slide up to an octave: the one most likely to be meant."""
    return max(slides, key=lambda slide: min(abs(slide.to_pitch - slide.from_pitch), 12))


def _lower_bound(successes: float, trials: int) -> float:
    """Wilson's lower bound of a proportion, one-sided 90 percent (E. B. Wilson, 1927)."""
    z = 1.2816
    share = min(successes / trials, 1.0)
    centre = share + z * z / (2 * trials)
    spread = z * math.sqrt(share * (1 - share) / trials + z * z / (4 * trials * trials))
    return (centre - spread) / (1 + z * z / trials)
