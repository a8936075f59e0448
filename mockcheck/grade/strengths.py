"""What is good about a submission, as far as the review says: facts, not praise."""

from __future__ import annotations

from collections.abc import Iterator

from mockcheck.grade.points import Grade
from mockcheck.grade.reference import ReferenceReport
from mockcheck.model.finding import FAMILIES, Severity
from mockcheck.model.words import printable

_ABOUT = {
    "range": "Every note lies in the range of its instrument.",
    "chords": "Every chord and double stop lies under the hand.",
    "speed": "Nothing is too fast for hand or bow.",
    "bow": "Every note and slur fits the bow.",
    "slides": "Slides are as players make them.",
    "changes": "There is time for every change of bow, fingers and mute.",
    "reading": "The parts read well.",
    "realism": "The mock-up behaves like players.",
}
_MOSTLY_SAME = 0.9


def strengths(grade: Grade, reference: ReferenceReport | None = None) -> tuple[str, ...]:
    """Sentences; none where the review has nothing of the kind to say."""
    return tuple(_strengths(grade, reference))


def _strengths(grade: Grade, reference: ReferenceReport | None) -> Iterator[str]:
    worst = max(grade.counts, default=None)
    if worst is None:
        yield "Nothing was found at all."
        return
    if worst is Severity.REMARK:
        yield "Nothing stands in the way of a performance; there are only remarks."
    yield from _clean_parts(grade)
    for row in grade.bonuses:
        # Families without a finding have words of their own below.
        if row.points and row.kind != "no_findings":
            yield f"{row.wanted}."
    looked_at = {
        family
        for family in FAMILIES
        if any(charge.mark.finding.family == family for charge in grade.charges)
        or any(mark.finding.family == family for mark in grade.accepted)
    }
    yield from (words for family, words in _ABOUT.items() if family not in looked_at)
    if reference is not None and reference.notes:
        share = reference.same / reference.notes
        if share >= _MOSTLY_SAME:
            yield f"{100 * share:.0f} % of the model's notes are there, in pitch and time."


def _clean_parts(grade: Grade) -> Iterator[str]:
    marked = {charge.mark.finding.part for charge in grade.charges}
    clean = [part for part in grade.submission.parts if part not in marked]
    if clean and len(grade.submission.parts) > 1:
        yield f"Nothing was found in {', '.join(map(printable, clean))}."
