"""Points: every one that is lost stands on a line of its own, and the lines add up.

Money is counted in cents for the same reason: everything here is whole hundredths of a point.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from mockcheck.grade.conditions import Bars, Condition, Length, PlayedBars, Verdict
from mockcheck.grade.reference import ReferenceLoss
from mockcheck.grade.rubric import Rubric
from mockcheck.grade.submission import Mark, Submission
from mockcheck.model.finding import Severity

HUNDREDTHS = 100
LIMITS = ("check", "family", "all")
"""Which cap can stop a finding from costing more, narrowest first."""

_MOST = 0.5
_PASSAGE_S = 6.0
"""What lasts longer, two or three bars, is no one place that could be put right at a stroke."""


def hundredths(points: float) -> int:
    """Points as whole hundredths."""
    return round(points * HUNDREDTHS)


@dataclass(frozen=True)
class Charge:
    """What one finding costs, in hundredths of a point.

    Parameters
    ----------
    price
        Before any cap.
    lost
        What it took; less than `price` where a cap was reached.
    limit
        The cap that was reached: 'check', 'family', 'all', or ''.
    is_doubtful
        A low confidence made it cheaper; the teacher looks at it.
    dearer
        A finding of another check on the same passage, which made this one cheaper.
    """

    mark: Mark
    price: int
    lost: int
    limit: str
    is_doubtful: bool
    dearer: Mark | None = None


@dataclass(frozen=True)
class Judged:
    """A requirement with the points it took, or good practice with those it earned, hundredths."""

    kind: str
    wanted: str
    verdict: Verdict
    points: int
    most: int

    @property
    def is_open(self) -> bool:
        """The file does not tell; it costs and earns nothing, and the teacher looks."""
        return self.verdict.share is None


@dataclass(frozen=True)
class Grade:
    """The account of one submission, in hundredths of a point.

    `floor` is given back so that points do not fall below 0; `ceiling` is taken so that they do
    not rise above the total.
    """

    submission: Submission
    total: int
    scale: float
    charges: tuple[Charge, ...]
    accepted: tuple[Mark, ...]
    requirements: tuple[Judged, ...]
    bonuses: tuple[Judged, ...]
    reference: tuple[ReferenceLoss, ...]
    reference_lost: int
    floor: int
    ceiling: int

    @property
    def lost_to_findings(self) -> int:
        """Points that findings took."""
        return sum(charge.lost for charge in self.charges)

    @property
    def lost_to_requirements(self) -> int:
        """Points that requirements took."""
        return sum(row.points for row in self.requirements)

    @property
    def earned(self) -> int:
        """Points that good practice earned, before the ceiling."""
        return sum(row.points for row in self.bonuses)

    @property
    def unbounded(self) -> int:
        """Points as the lines add up, before floor and ceiling."""
        lost = self.lost_to_findings + self.lost_to_requirements + self.reference_lost
        return self.total - lost + self.earned

    @property
    def points(self) -> float:
        """The points."""
        return (self.unbounded + self.floor - self.ceiling) / HUNDREDTHS

    @property
    def counts(self) -> Counter[Severity]:
        """Findings by severity, accepted ones left out."""
        return Counter(charge.mark.finding.severity for charge in self.charges)


def grade_submission(
    work: Submission, rubric: Rubric, reference: Sequence[ReferenceLoss] = ()
) -> Grade:
    """The points of a submission and where they went.

    Parameters
    ----------
    reference
        What the comparison with a model costs, if there is one; see `grade.reference`.
    """
    scale = length_scale(work, rubric)
    marks = list(work.marks())
    charges = _charges([mark for mark in marks if mark.finding.accepted is None], rubric, scale)
    requirements = tuple(
        _judged(row, verdict, 1 - _share(verdict, 1.0))
        for row in rubric.requirements
        for verdict in (row.judge(work),)
    )
    is_long_enough = _is_long_enough(work, rubric.requirements)
    bonuses = tuple(
        _judged(row, verdict, float(is_long_enough and _share(verdict, 0.0) == 1.0))
        for row in rubric.bonuses
        for verdict in (row.judge(work),)
    )
    total = hundredths(rubric.total)
    reference_lost = min(sum(row.price for row in reference), hundredths(rubric.reference.most))
    lost = sum(row.lost for row in charges) + sum(row.points for row in requirements)
    unbounded = total - lost - reference_lost + sum(row.points for row in bonuses)
    return Grade(
        submission=work,
        total=total,
        scale=scale,
        charges=charges,
        accepted=tuple(mark for mark in marks if mark.finding.accepted is not None),
        requirements=requirements,
        bonuses=bonuses,
        reference=tuple(reference),
        reference_lost=reference_lost,
        floor=max(-unbounded, 0),
        ceiling=max(unbounded - total, 0),
    )


def length_scale(work: Submission, rubric: Rubric) -> float:
    """What a finding's points are multiplied by: less in a long piece, more in a short one."""
    return rubric.findings.per_bars / max(work.played_bars, rubric.findings.shortest_bars)


def _share(verdict: Verdict, where_open: float) -> float:
    return where_open if verdict.share is None else verdict.share


def _judged(row: Condition, verdict: Verdict, part: float) -> Judged:
    return Judged(
        row.kind, row.wanted, verdict, hundredths(row.points * part), hundredths(row.points)
    )


def _is_long_enough(work: Submission, requirements: Iterable[Condition]) -> bool:
    """Good practice in a sketch of two bars is no practice."""
    lengths = [
        row.judge(work) for row in requirements if isinstance(row, Bars | PlayedBars | Length)
    ]
    return all(_share(verdict, 1.0) == 1.0 for verdict in lengths)


def _charges(marks: Sequence[Mark], rubric: Rubric, scale: float) -> tuple[Charge, ...]:
    """The dearest first, so that a cap spares the cheapest; in one price, in order of time."""
    table = rubric.findings
    priced = [(_points(mark, rubric, scale), row, mark) for row, mark in enumerate(marks)]
    priced.sort(key=lambda item: (-item[0], item[1]))
    caps = {"check": table.caps.check, "family": table.caps.family, "all": table.caps.all}
    left: dict[tuple[str, str], int] = {}
    charges: list[Charge] = []
    for points, _, mark in priced:
        dearer = next((row.mark for row in charges if _is_same_place(row.mark, mark)), None)
        price = hundredths(points * (1.0 if dearer is None else table.same_place_factor))
        names = {"check": mark.finding.check, "family": mark.finding.family, "all": ""}
        room = {
            limit: left.setdefault((limit, names[limit]), hundredths(cap))
            for limit, cap in caps.items()
        }
        lost = min(price, *room.values())
        for limit, name in names.items():
            left[limit, name] -= lost
        reached = [limit for limit in LIMITS if lost < price and room[limit] == lost]
        is_doubtful = mark.finding.confidence < table.doubt.below
        charges.append(
            Charge(mark, price, lost, reached[0] if reached else "", is_doubtful, dearer)
        )
    return tuple(charges)


def _points(mark: Mark, rubric: Rubric, scale: float) -> float:
    """What a finding costs by itself, in points."""
    table, finding = rubric.findings, mark.finding
    points = table.points.of(finding.severity) * rubric.families.get(finding.family, 1.0)
    points *= 1.0 if mark.span >= table.whole_piece_from else scale
    return points * (table.doubt.factor if finding.confidence < table.doubt.below else 1.0)


def _is_same_place(one: Mark, other: Mark) -> bool:
    """Two checks speak of the same passage of a part: most of the shorter lies in the other."""
    first, second = one.finding, other.finding
    if (one.piece, first.part) != (other.piece, second.part) or first.check == second.check:
        return False
    lengths_s = [f.end.time_s - f.start.time_s for f in (first, second)]
    both_s = min(first.end.time_s, second.end.time_s) - max(first.start.time_s, second.start.time_s)
    return max(lengths_s) <= _PASSAGE_S and both_s > 0 and both_s >= _MOST * min(lengths_s)
