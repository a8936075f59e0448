"""Marks the findings that the brief accepts, and says which acceptances fit nothing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from mockcheck.model.acceptance import Acceptance, UnusedAcceptance
from mockcheck.model.finding import Finding
from mockcheck.model.identity import FindingId, part_digits, read_finding_id

_NEAREST_SHOWN = 3


@dataclass(frozen=True)
class Accepted:
    """All findings, the accepted ones with their reason, and what was accepted in vain."""

    findings: tuple[Finding, ...]
    unused: tuple[UnusedAcceptance, ...]


def accept_findings(
    findings: Sequence[Finding], acceptances: Sequence[Acceptance], part_names: Sequence[str]
) -> Accepted:
    """Give every accepted finding its reason; where two acceptances fit, the first one's.

    An id fits the finding of that name. If there is none, it fits the one finding of the same
    check with the same notes, and on one side the same notes next to it: bars may have come in
    beside it. That finding must be in the same part, unless no part of the file has the name that
    the id stands for: then the part was renamed. Where two findings would fit, none is accepted.
    What a brief for many files accepts may fit nothing in this one.
    """
    ids = [read_finding_id(finding.id) for finding in findings]
    codes = {part_digits(name) for name in part_names}
    named = {acceptance.id for acceptance in acceptances if acceptance.id is not None}
    taken = {row for row, finding in enumerate(findings) if finding.id in named}
    reasons: dict[int, str] = {}
    unused = []
    for acceptance in acceptances:
        if acceptance.id is None:
            rows = [
                row
                for row, finding in enumerate(findings)
                if finding.check == acceptance.check and acceptance.is_at(finding)
            ]
        else:
            wanted = read_finding_id(acceptance.id)
            rows = _rows_named(wanted, ids, taken, is_renamed=wanted.part not in codes)
            taken.update(rows)
        for row in rows:
            reasons.setdefault(row, acceptance.reason)
        if not rows and not acceptance.is_shared:
            unused.append(acceptance)
    marked = tuple(
        replace(finding, accepted=reasons.get(row)) for row, finding in enumerate(findings)
    )
    return Accepted(marked, tuple(UnusedAcceptance(a, _nearest(a, marked)) for a in unused))


def _rows_named(
    wanted: FindingId, ids: Sequence[FindingId], taken: set[int], *, is_renamed: bool
) -> list[int]:
    """The finding of an id, or the only other one that it can be; none where that is open."""
    exact = [row for row, here in enumerate(ids) if here == wanted]
    if exact:
        return exact
    alike = [
        row
        for row, here in enumerate(ids)
        if row not in taken
        and here.is_same_music(wanted)
        and (here.part == wanted.part or is_renamed)
    ]
    # Of literally repeated passages in a renamed part, each is still the same in order.
    but_for_the_name = [row for row in alike if replace(ids[row], part=wanted.part) == wanted]
    likeliest = but_for_the_name or alike
    return likeliest if len(likeliest) == 1 else []


def _nearest(acceptance: Acceptance, findings: Sequence[Finding]) -> tuple[Finding, ...]:
    """Findings that were perhaps meant: of the check, by music or by place; else at the place."""
    if acceptance.id is not None:
        wanted = read_finding_id(acceptance.id)
        of_check = [finding for finding in findings if finding.check == wanted.check]
        return tuple(sorted(of_check, key=lambda f: _unlikeness(wanted, f))[:_NEAREST_SHOWN])
    near = [f for f in findings if f.check == acceptance.check or acceptance.is_at(f)]
    return tuple(sorted(near, key=lambda f: _distance(acceptance, f))[:_NEAREST_SHOWN])


def _unlikeness(wanted: FindingId, finding: Finding) -> tuple[bool, ...]:
    here = read_finding_id(finding.id)
    return (
        here.music != wanted.music,
        here.part != wanted.part,
        here.before != wanted.before and here.after != wanted.after,
    )


def _distance(acceptance: Acceptance, finding: Finding) -> tuple[bool, bool, int]:
    bar = finding.start.bar or 0
    away = min((abs(bar - wanted) for wanted in acceptance.bars or ()), default=0)
    is_other_check = finding.check != acceptance.check
    return is_other_check, not acceptance.is_for_part(finding.part), away
