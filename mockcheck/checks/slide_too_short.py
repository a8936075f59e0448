"""Slides so quick that they are heard as an ordinary shift."""

from __future__ import annotations

from collections.abc import Iterator

from mockcheck.checks._registry import check
from mockcheck.checks._slides import is_timed, observe_times, slide_passages
from mockcheck.checks.slide_crosses_strings import SlideCrossesStrings, is_heard_at_pace
from mockcheck.model.finding import Observation, Severity
from mockcheck.model.played import PlayedPart
from mockcheck.params import Params, quantity
from mockcheck.playing.fingerboard import fingerboard


class SlideTooShort(Params):
    """Limits of the check."""

    shortest_ms: float = quantity(
        80,
        unit="ms",
        low=30,
        high=300,
        meaning="a quicker move is heard as a shift, not as a slide",
        source="a clean shift takes 40 to 120 ms and is not heard as a slide below 80 to 100 ms,"
        " from memory; joins of violinists over a fifth have arrived after 68 ms, 90 percent of"
        " them: measured on transcribed recordings of Paganini's caprices",
    )
    passage_gap_s: float = quantity(
        6,
        unit="s",
        low=0.5,
        high=120,
        meaning="slides closer together than this are told at once",
    )


_SUGGESTION = (
    "Write no slide and leave it to the players' shift, or give it 100 ms or more to hear what a"
    " written slide will do."
)


@check(
    id="slide-too-short",
    family="slides",
    severity=Severity.REMARK,
    title="A slide is over before it is heard as one.",
    params=SlideTooShort,
)
def find(part: PlayedPart, p: SlideTooShort) -> Iterator[Observation]:
    """Find slides from note to note that are no longer than a shift of the hand.

    Why a player minds: every shift makes such a move by itself; a slide on the page would come
    out longer than the mock-up, so nobody knows which of the two is wanted.
    Measured: time of a drawn slide between two notes. A remark, because the notes are right either
    way; what takes a faster hand than players have is told by slide-crosses-strings instead.
    Fine when: the move only makes the join of a sampled legato smoother and nothing is to be
    written; a slide that only a switch asks for has no length here.
    Source: time of clean shifts and of audible slides, from memory; measured joins of violinists.
    """
    board = fingerboard(part.instrument)
    pace = SlideCrossesStrings(**part.session.check_params.get("slide-crosses-strings", {}))
    for passage in slide_passages(part, p.passage_gap_s):
        quick = [
            slide
            for slide in passage
            if is_timed(slide)
            and slide.duration_ms < p.shortest_ms
            and is_heard_at_pace(board, slide, pace)
        ]
        if quick:
            shortest = min(quick, key=lambda slide: slide.duration_ms)
            limit = p.shortest_ms
            means = f"below about {limit:.0f} ms it is heard as a shift of the hand."
            words = "short, the shortest", means
            yield observe_times(part, quick, shortest, limit, words, _SUGGESTION)
