"""Runs checks over parts and completes what they saw into findings.

The runner adds what no check may know: the id, the track row, the place.
"""

from __future__ import annotations

import traceback
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from mockcheck.checks._fingerprint import fingerprint
from mockcheck.checks._registry import Check, all_checks
from mockcheck.model.finding import CheckOutcome, Finding, Observation, Outcome
from mockcheck.model.played import PlayedPart, PlayedScore
from mockcheck.params import Params

_ENSEMBLE_REASON = (
    "a full-ensemble patch: which players take which note is not known; put each part on a track"
    " of its own, or name the instrument in the brief"
)


@dataclass(frozen=True)
class CheckRun:
    """All findings, worst first within each part's order in time, and what became of each check."""

    findings: tuple[Finding, ...]
    outcomes: tuple[CheckOutcome, ...]


def run_checks(
    played: PlayedScore,
    checks: Mapping[str, Check[Any]] | None = None,
    *,
    raise_crashes: bool = False,
) -> CheckRun:
    """Run every check on every part.

    A check that raises is our bug: it becomes an outcome `crashed`, and the others still run;
    `raise_crashes` lets tests see the exception instead.
    """
    findings: list[Finding] = []
    outcomes: list[CheckOutcome] = []
    for item in (all_checks() if checks is None else checks).values():
        params = item.params(**played.session.check_params.get(item.id, {}))
        seen = tuple(
            part
            for part in played.parts
            if not (item.needs_strings and part.instrument.is_ensemble)
        )
        together = [seen] if item.find_in_score is not None else [(part,) for part in seen]
        became = {part.name: (Outcome.SKIPPED, _ENSEMBLE_REASON) for part in played.parts}
        for parts in together:
            outcome, reason = Outcome.RAN, ""
            try:
                observed = _look(item, parts, params)
            except Exception:  # one broken check must not hide the others
                if raise_crashes:
                    raise
                outcome, reason = Outcome.CRASHED, traceback.format_exc()
            else:
                findings += [_complete(item, part, what) for part, what in observed]
            became |= dict.fromkeys((part.name for part in parts), (outcome, reason))
        outcomes += [
            CheckOutcome(item.id, role.index, *became[part.name])
            for part in played.parts
            for role in part.roles
        ]
    return CheckRun(tuple(_with_unique_ids(_in_reading_order(findings))), tuple(outcomes))


def _look(
    item: Check[Any], parts: tuple[PlayedPart, ...], params: Params
) -> list[tuple[PlayedPart, Observation]]:
    """What a check sees: in all parts at once, or in the one part it is given."""
    if item.find_in_score is not None:
        return list(item.find_in_score(parts, params)) if parts else []
    return [(part, observed) for part in parts for observed in item.find(part, params)]


def _complete(item: Check[Any], part: PlayedPart, observed: Observation) -> Finding:
    rows = list(observed.note_indices)
    notes = part.notes
    first, last = observed.span_ticks or (
        int(notes.onset_ticks[rows].min()),
        int(notes.release_ticks[rows].max()),
    )
    return Finding(
        id=str(fingerprint(item.id, part, rows)),
        check=item.id,
        family=item.family,
        severity=item.severity if observed.severity is None else observed.severity,
        track=int(part.track[rows[0]]),
        part=part.name,
        start=part.locate_onset(first),
        end=part.locate(last),
        pitches=tuple(int(pitch) for pitch in notes.pitch[rows]),
        message=observed.message,
        evidence=observed.evidence,
        suggestion=observed.suggestion,
        confidence=min(observed.confidence, part.role_confidence),
        source=item.explanation()["Source"],
    )


def _in_reading_order(findings: Iterable[Finding]) -> list[Finding]:
    return sorted(
        findings,
        key=lambda f: (f.start.time_s, f.track, -f.severity, f.check, f.pitches, f.end.time_s),
    )


def _with_unique_ids(findings: Iterable[Finding]) -> list[Finding]:
    """The second and later of literally repeated passages are numbered in order."""
    seen: Counter[str] = Counter()
    unique = []
    for finding in findings:
        seen[finding.id] += 1
        turn = seen[finding.id]
        unique.append(finding if turn == 1 else replace(finding, id=f"{finding.id}-{turn}"))
    return unique
