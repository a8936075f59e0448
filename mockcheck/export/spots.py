"""The bars of each finding as MusicXML, for whoever wants to try or to show them."""

from __future__ import annotations

from collections.abc import Iterator

from mockcheck.errors import UnreadableInput
from mockcheck.model.finding import Severity
from mockcheck.model.review import Review
from mockcheck.model.words import last_bar, place_words, printable
from mockcheck.notation import musicxml, notate


def spots(review: Review) -> Iterator[tuple[str, str]]:
    """Name of the place and its MusicXML document, finding by finding in the order of the review.

    Remarks, findings without bars and bars that cannot be written are left out. Strings and
    fingers are printed where speed is the question. The name, 'bar-024_run-too-fast-3fdcd1426b',
    is legal on every system.
    """
    by_name = {part.name: part for part in review.played.parts}
    for finding in review.findings:
        first, last = finding.start.bar, last_bar(finding.start, finding.end)
        part = by_name.get(finding.part)
        if finding.severity is Severity.REMARK or part is None or first is None or last is None:
            continue
        try:
            bars = notate(part, first, last, beside=review.played.parts)
        except UnreadableInput:
            continue
        title = f"{printable(finding.part)}, {place_words(finding.start, finding.end)}"
        document = musicxml([bars], title, with_fingering=finding.family == "speed")
        yield f"bar-{first:03d}_{finding.id}", document
