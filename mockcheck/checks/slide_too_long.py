"""Slides that creep: longer than players of the style take."""

from __future__ import annotations

from collections.abc import Iterator

from mockcheck.checks._registry import check
from mockcheck.checks._slides import is_timed, observe_times, slide_passages
from mockcheck.model.finding import Observation, Severity
from mockcheck.model.played import PlayedPart
from mockcheck.model.session import Session, Style
from mockcheck.params import Params, quantity


class SlideTooLong(Params):
    """Limits of the check."""

    modern_ms: float = quantity(
        250,
        unit="ms",
        low=50,
        high=5000,
        meaning="longest slide of players today",
        source="audible slide, violin, lyrical line, present: 60 to 250 ms, 120 as a rule, from"
        " memory; a fifth of recent cello recordings takes 183 ms (arXiv 2604.22037)",
    )
    romantic_ms: float = quantity(
        500,
        unit="ms",
        low=50,
        high=5000,
        meaning="longest slide in romantic style",
        source="audible slide, violin, lyrical line, early 20th century: 120 to 500 ms, from"
        " memory",
    )
    passage_gap_s: float = quantity(
        6,
        unit="s",
        low=0.5,
        high=120,
        meaning="slides closer together than this are told at once",
    )


_SUGGESTION = (
    "Shorten the slide to what players make, write a glissando line if the slow one is meant, or"
    " name the style in the brief."
)


@check(
    id="slide-too-long",
    family="slides",
    severity=Severity.REMARK,
    title="A slide lasts longer than players make it.",
    params=SlideTooLong,
    needs_strings=False,
)
def find(part: PlayedPart, p: SlideTooLong) -> Iterator[Observation]:
    """Find slides from note to note that take longer than players of the style would.

    Why a player minds: asked for a slide, players make a short one near the end of the note; a
    slow one is another thing, a glissando, and has to be on the page as a line.
    Measured: time of a drawn slide between two notes. A remark, because players can do it when
    they are told.
    Fine when: a glissando is meant and written out with a line, or the brief says style = "comic";
    a slide that only a switch asks for has no length here, and scoops and falls are left alone.
    Source: length of audible slides by era, from memory; arXiv 2604.22037 for cello recordings.
    """
    limit = _longest_ms(part.session, p)
    if limit is None:
        return
    for passage in slide_passages(part, p.passage_gap_s):
        slow = [slide for slide in passage if is_timed(slide) and slide.duration_ms > limit]
        if slow:
            longest = max(slow, key=lambda slide: slide.duration_ms)
            means = f"in {part.session.style_name} style players take {limit:.0f} ms at most."
            words = "long, the longest", means
            yield observe_times(part, slow, longest, limit, words, _SUGGESTION)


def _longest_ms(session: Session, p: SlideTooLong) -> float | None:
    """The longest slide of the style, ms; None where any length may be meant."""
    if session.named_style is not None and session.named_style.slide_ms is not None:
        return session.named_style.slide_ms
    return {Style.MODERN: p.modern_ms, Style.ROMANTIC: p.romantic_ms}.get(session.style)
