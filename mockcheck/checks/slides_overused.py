"""More slides than the style has."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from mockcheck.checks._registry import check
from mockcheck.checks._slides import Kept, semitones, slide_passages, worth_keeping
from mockcheck.infer.joins import slidable_joins
from mockcheck.model.finding import Evidence, Observation, Severity
from mockcheck.model.played import PlayedPart, Slide
from mockcheck.model.session import Style
from mockcheck.params import Params, quantity

_REMEMBERED = "order of magnitude, from memory; no printed count per join was found"
_UNIT = "slides/100 joins"
_LATE_S = 0.1
"""A slide may end a little after the onset of the note it leads to."""
_LEAST_LEAP = 3
_HALF = 0.5
_ALIKE_MS = 5.0
_MOST_NAMED = 4


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
    soloist_times: float = quantity(
        3,
        unit="times a section's slides",
        low=1,
        high=10,
        meaning="what one player of today does on a line of his own",
        source="0.1 slides a bar against 0.03 in a section, slow melody today: " + _REMEMBERED,
    )
    most_leaps: float = quantity(
        50,
        unit="percent of the leaps",
        low=1,
        high=100,
        meaning="when more of the leaps slide, none of them stands out",
        source="never on every shift; from memory",
    )
    most_seconds: float = quantity(
        25,
        unit="percent of the slides",
        low=0,
        high=100,
        meaning="when more of the slides span only a second, they are told: seconds rarely slide",
        source="usual interval three to twelve semitones; from memory",
    )
    most_on_short_notes: float = quantity(
        25,
        unit="percent of the slides",
        low=0,
        high=100,
        meaning="when more of the slides lie on short notes, they are told",
        source="as the short note",
    )
    short_note_s: float = quantity(
        0.3,
        unit="s",
        low=0.05,
        high=2,
        meaning="on a shorter note a slide leaves nothing of the note",
        source="longest audible slide of players today 0.25 s, from memory; faster performances"
        " have shallow slides or none (arXiv 2604.22037)",
    )
    most_alike: float = quantity(
        50,
        unit="percent of the slides",
        low=1,
        high=100,
        meaning="when more of the drawn slides last alike to 5 ms, one curve was pasted",
        source="common practice, no source",
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
    counting slides by their confidence. What makes it worse is told as well: slides on most of
    the leaps, on seconds, on short notes, with one pasted curve, by a whole section at once.
    Fine when: the brief says style = "romantic" or "comic", or there are only two or three; one
    player may slide three times as often as a section.
    Source: recordings show slides in decline since the 1930s (The phonograph effect, chapter on
    portamento; arXiv 2604.22037); the profiles are remembered orders of magnitude.
    """
    style = part.session.style_name
    per_join, per_minute = _profile(part, p)
    joins = slidable_joins(part)
    for slides in slide_passages(part, p.passage_gap_s):
        if len(slides) < p.least_slides:
            continue
        passage = _Passage(part, slides, joins)
        weight = sum(slide.confidence for slide in slides)
        count = max(len(passage.joins), len(slides))
        minutes = max(passage.length_s, p.passage_gap_s) / 60
        pace = weight / minutes
        if _lower_bound(weight, count) * 100 <= per_join or pace <= per_minute:
            continue
        wanted = max(1, round(count * per_join / 100))
        worse, told = _worse(passage, p)
        keep = worth_keeping(part, slides, wanted)
        yield Observation(
            note_indices=tuple(sorted({max(slide.from_note, 0) for slide in slides})),
            message=(
                f"{len(slides)} slides on {count} joins; in {style} style about {wanted} would be"
                f" heard here.{told}"
            ),
            suggestion=_suggestion(part, keep, len(slides)),
            evidence=(
                Evidence("slides per 100 joins", round(100 * weight / count, 1), per_join, _UNIT),
                Evidence("slides per minute", round(pace, 1), per_minute, "slides/min"),
                *worse,
            ),
            confidence=weight / len(slides),
            span_ticks=passage.span_ticks,
        )


def _profile(part: PlayedPart, p: SlidesOverused) -> tuple[float, float]:
    """What the style has: slides per 100 joins and per minute."""
    style, own = part.session.style, part.session.named_style
    times = p.soloist_times if part.players == 1 and style is Style.MODERN else 1.0
    per_join, per_minute = getattr(p, f"{style}_per_100_joins"), getattr(p, f"{style}_per_minute")
    if own is not None:
        per_join = per_join if own.slides_per_100_joins is None else own.slides_per_100_joins
        per_minute = per_minute if own.slides_per_minute is None else own.slides_per_minute
    return min(times * per_join, 100), times * per_minute


class _Passage:
    """A row of slides and the joins they are counted against."""

    def __init__(self, part: PlayedPart, slides: Sequence[Slide], joins: NDArray[np.int64]) -> None:
        self.part = part
        self.slides = slides
        first = min(slide.onset_ticks for slide in slides)
        last = max(slide.release_ticks for slide in slides)
        self.span_ticks = first, last
        start_s, end_s = part.timeline.tempo.seconds_at(np.array([first, last])).tolist()
        self.length_s = end_s - start_s
        at_s = part.notes.onset_s[joins[:, 1]]
        own = part.track[joins[:, 1]] == slides[0].track
        self.joins = joins[own & (at_s >= start_s) & (at_s <= end_s + _LATE_S)]

    def leaps(self) -> tuple[int, int]:
        """Leaps that slide, and all leaps."""
        pitch = self.part.notes.pitch
        wide = np.abs(pitch[self.joins[:, 1]] - pitch[self.joins[:, 0]]) >= _LEAST_LEAP
        reached = {slide.to_note for slide in self.slides}
        slid = [int(note) in reached for note in self.joins[wide, 1]]
        return sum(slid), len(slid)

    def seconds(self) -> int:
        """Slides over no more than a whole tone from one note to another."""
        return sum(
            semitones(slide) < _LEAST_LEAP - _HALF and slide.from_note != slide.to_note >= 0
            for slide in self.slides
        )

    def on_short_notes(self, short_s: float) -> int:
        """Slides that leave or reach a short note."""
        length_s = self.part.notes.duration_s
        return sum(
            min(length_s[note] for note in (slide.from_note, slide.to_note) if note >= 0) < short_s
            for slide in self.slides
        )

    def alike(self) -> tuple[int, int]:
        """Drawn slides of the commonest length, and all drawn slides."""
        drawn = np.array([slide.duration_ms for slide in self.slides if slide.source == "bend"])
        near = np.abs(drawn[:, None] - drawn) <= _ALIKE_MS
        return int(near.sum(axis=1).max(initial=0)), len(drawn)


def _worse(passage: _Passage, p: SlidesOverused) -> tuple[list[Evidence], str]:
    """What makes the slides stick out more, as evidence and in words."""
    slides = len(passage.slides)
    slid, leaps = passage.leaps()
    alike, drawn = passage.alike()
    seconds, short = passage.seconds(), passage.on_short_notes(p.short_note_s)
    short_ms = round(1000 * p.short_note_s)
    facts = (
        (slid, leaps, p.most_leaps, "leaps that slide", f"{slid} of {leaps} leaps slide"),
        (seconds, slides, p.most_seconds, "slides over a second", f"{seconds} span only a second"),
        (short, slides, p.most_on_short_notes, "slides on short notes",
         f"{short} lie on notes shorter than {short_ms} ms"),
        (alike, drawn, p.most_alike, "slides of one length", f"{alike} are of one length"),
    )  # fmt: skip
    evidence, words = [], []
    for count, total, most, quantity_name, told in facts:
        # Of one or two, a share says nothing.
        if count > 2 and 100 * count > most * total:
            measured = round(100 * count / total, 1)
            evidence.append(Evidence(quantity_name, measured, most, "percent"))
            words.append(told)
    if passage.part.players > 1:
        words.append(f"all {passage.part.players} players slide at once")
    text = ", ".join(words)
    return evidence, f" {text[0].upper()}{text[1:]}." if text else ""


def _suggestion(part: PlayedPart, keep: Sequence[Kept], slides: int) -> str:
    """Which slides to keep; they are counted, since a place moves when bars are put in."""
    named = [
        f"the {_ordinal(kept.number)} ({part.pitch_name(kept.slide.from_pitch)} to"
        f" {part.pitch_name(kept.slide.to_pitch)}, {kept.reason})"
        for kept in keep[:_MOST_NAMED]
    ]
    chosen = named[0] if len(named) == 1 else f"{', '.join(named[:-1])} and {named[-1]}"
    return f"Of the {slides} keep {chosen} and take out the others, or name the style in the brief."


def _ordinal(number: int) -> str:
    if number % 100 in (11, 12, 13):
        return f"{number}th"
    return f"{number}{ {1: 'st', 2: 'nd', 3: 'rd'}.get(number % 10, 'th') }"


def _lower_bound(successes: float, trials: int) -> float:
    """Wilson's lower bound of a proportion, one-sided 90 percent (E. B. Wilson, 1927)."""
    z = 1.2816
    share = min(successes / trials, 1.0)
    centre = share + z * z / (2 * trials)
    spread = z * math.sqrt(share * (1 - share) / trials + z * z / (4 * trials * trials))
    return (centre - spread) / (1 + z * z / trials)
