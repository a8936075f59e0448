"""Which slides of a part are worth keeping, by the words of the finding."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from mockcheck.checks._registry import all_checks
from mockcheck.checks._slides import Kept, slide_passages, worth_keeping
from mockcheck.model.finding import Finding
from mockcheck.model.played import PlayedPart, Slide
from mockcheck.model.review import Review

CHECK = "slides-overused"


@dataclass(frozen=True)
class Choice:
    """The slides of one passage that has too many, divided into those to keep and the others."""

    finding: Finding
    kept: tuple[Kept, ...]
    dropped: tuple[Slide, ...]


def choose_slides(review: Review, part: PlayedPart) -> list[Choice]:
    """Keep what a player would choose, as many as the finding says.

    As the finding does: up to the top of a phrase, onto a long note, a wide one, or down to the
    close of a phrase, and only what one string holds. What the brief accepts is not touched.
    """
    found = {
        (finding.start.tick, finding.end.tick): finding
        for finding in review.findings
        if finding.check == CHECK and finding.part == part.name and finding.accepted is None
    }
    if not found:
        return []
    params = all_checks()[CHECK].params(**part.session.check_params.get(CHECK, {}))
    choices = []
    for slides in slide_passages(part, params.passage_gap_s):
        span = (
            min(slide.onset_ticks for slide in slides),
            max(slide.release_ticks for slide in slides),
        )
        if span in found:
            kept = worth_keeping(part, slides, _wanted(found[span], slides))
            numbers = {one.number for one in kept}
            dropped = [s for number, s in enumerate(slides, start=1) if number not in numbers]
            choices.append(Choice(found[span], tuple(kept), tuple(dropped)))
    return choices


def _wanted(finding: Finding, slides: Sequence[Slide]) -> int:
    """How many the style would have here: its share of the joins, which the finding measured."""
    measured = next(item for item in finding.evidence if item.unit == "slides/100 joins")
    joins = 100 * sum(slide.confidence for slide in slides) / measured.measured
    return max(1, round(round(joins) * measured.limit / 100))
