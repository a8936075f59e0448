"""The list of findings on the page: grouped by part, worst first, drawn as far as there is room."""

from __future__ import annotations

import base64
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from markupsafe import Markup

from mockcheck.checks._registry import all_checks
from mockcheck.model.finding import FAMILIES, Evidence, Finding, Severity
from mockcheck.model.played import PlayedPart
from mockcheck.model.review import Review
from mockcheck.model.words import place_words, printable
from mockcheck.plots.notation import can_engrave, engrave_finding
from mockcheck.report._page_board import Board, draw_board
from mockcheck.report._page_roll import draw_roll
from mockcheck.report._verdict import GUESS_BELOW

DRAWINGS_BUDGET = 700_000
"""Characters that all drawings of findings may take together; a page stays a letter, not a load."""
_WHOLE_FROM = 1000
MOST_ENGRAVED = 60
"""About two seconds of engraving."""


@dataclass(frozen=True)
class NotationImage:
    """A picture of engraved bars as a data address."""

    address: str
    width: int
    height: int


@dataclass(frozen=True)
class EvidencePictures:
    """What is drawn for one finding."""

    roll: Markup
    roll_is_whole: bool
    board: Board | None
    notation: NotationImage | None

    @property
    def size(self) -> int:
        """Characters on the page."""
        board = len(self.board.svg) if self.board else 0
        notation = len(self.notation.address) if self.notation else 0
        return len(self.roll) + board + notation


@dataclass(frozen=True)
class FindingRow:
    """One finding as the template writes it; texts are safe to print, not yet escaped."""

    number: int
    finding: Finding
    part_number: int
    place: str
    message: str
    suggestion: str
    evidence: tuple[tuple[str, str, str, str], ...]
    accepted: str | None
    is_guess: bool
    pictures: EvidencePictures | None


@dataclass(frozen=True)
class PartGroup:
    """The findings of one part."""

    number: int
    name: str
    rows: tuple[FindingRow, ...]


@dataclass(frozen=True)
class FindingList:
    """All groups, and what is said about the drawings."""

    groups: tuple[PartGroup, ...]
    number_of: Mapping[str, int]
    drawn: int
    lacks_notation: bool
    families: tuple[str, ...]

    @property
    def rows(self) -> Iterator[FindingRow]:
        """Every finding in the order of the page."""
        return (row for group in self.groups for row in group.rows)


@dataclass(frozen=True)
class CheckText:
    """What `mockcheck explain` says about a check."""

    id: str
    title: str
    family: str
    paragraphs: tuple[tuple[str, str], ...]


def list_findings(review: Review, *, engrave: bool) -> FindingList:
    """Parts with the worst first, as in the terminal; in a part the worst first, then in time."""
    by_part: dict[str, list[Finding]] = {part.name: [] for part in review.played.parts}
    for finding in review.findings:
        by_part.setdefault(finding.part, []).append(finding)
    pictures = _pictures(review, MOST_ENGRAVED if engrave and can_engrave() else 0)
    groups: list[PartGroup] = []
    number = 0
    for place, name in enumerate(sorted(by_part, key=lambda name: _badness(by_part[name]))):
        rows = []
        for finding in sorted(by_part[name], key=_worst_first):
            rows.append(_row(finding, number, place, pictures.get(finding.id)))
            number += 1
        groups.append(PartGroup(place, printable(name), tuple(rows)))
    found = {finding.family for finding in review.findings}
    return FindingList(
        groups=tuple(groups),
        number_of={row.finding.id: row.number for group in groups for row in group.rows},
        drawn=len(pictures),
        lacks_notation=engrave and not can_engrave(),
        families=tuple(family for family in FAMILIES if family in found),
    )


def check_texts(findings: Iterable[Finding]) -> list[CheckText]:
    """The checks that found something, in the order of their families."""
    found = {finding.check for finding in findings}
    return [
        CheckText(item.id, item.title, item.family, tuple(item.explanation().items()))
        for item in all_checks().values()
        if item.id in found
    ]


def _badness(findings: Sequence[Finding]) -> tuple[int, ...]:
    counted = [finding.severity for finding in findings if finding.accepted is None]
    return tuple(-counted.count(severity) for severity in sorted(Severity, reverse=True))


def _worst_first(finding: Finding) -> tuple[bool, int]:
    return finding.accepted is not None, -finding.severity


def _row(
    finding: Finding, number: int, part_number: int, pictures: EvidencePictures | None
) -> FindingRow:
    return FindingRow(
        number=number,
        finding=finding,
        part_number=part_number,
        place=place_words(finding.start, finding.end),
        message=printable(finding.message),
        suggestion=printable(finding.suggestion),
        evidence=tuple(_evidence(item) for item in finding.evidence),
        accepted=None if finding.accepted is None else printable(finding.accepted),
        is_guess=finding.confidence < GUESS_BELOW,
        pictures=pictures,
    )


def _evidence(item: Evidence) -> tuple[str, str, str, str]:
    return item.quantity, _figure(item.measured), _figure(item.limit), item.unit


def _figure(value: float) -> str:
    """Four figures that count, and whole numbers whole; review.json has the rest."""
    is_whole = float(value).is_integer() or abs(value) >= _WHOLE_FROM
    return f"{value:.0f}" if is_whole else f"{value:.4g}"


def _pictures(review: Review, most_engraved: int) -> dict[str, EvidencePictures]:
    """Drawings by finding id, worst findings first, until the budget is used up."""
    parts = {part.name: part for part in review.played.parts}
    drawn: dict[str, EvidencePictures] = {}
    room = DRAWINGS_BUDGET
    engraved = 0
    for finding in sorted(review.findings, key=_worst_first):
        part = parts.get(finding.part)
        roll = draw_roll(review.played.score, part, finding) if part is not None else None
        if part is None or roll is None:
            continue
        notation = _notation(review, part, finding) if engraved < most_engraved else None
        engraved += notation is not None
        pictures = EvidencePictures(*roll, draw_board(part, finding), notation)
        if pictures.size > room:
            break
        room -= pictures.size
        drawn[finding.id] = pictures
    return drawn


def _notation(review: Review, part: PlayedPart, finding: Finding) -> NotationImage | None:
    picture = engrave_finding(part, finding, review.played.parts)
    if picture is None:
        return None
    address = base64.b64encode(picture.svg.encode()).decode()
    return NotationImage(
        f"data:image/svg+xml;base64,{address}", round(picture.width_px), round(picture.height_px)
    )
