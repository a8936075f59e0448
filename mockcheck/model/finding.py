"""What a check found, and whether it could look at all."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from enum import IntEnum, StrEnum

from mockcheck.model.time import Location

FAMILIES = ("range", "chords", "speed", "bow", "slides", "changes", "reading", "realism")


class Severity(IntEnum):
    """By what happens at the session; higher is worse."""

    REMARK = 1
    """Worth knowing."""
    AWKWARD = 2
    """Playable, but heard, or badly read."""
    RISKY = 3
    """A good section misses it at this tempo, or it costs takes."""
    IMPOSSIBLE = 4
    """No hand or bow can."""

    @property
    def label(self) -> str:
        """The word users read."""
        return self.name.lower()


class Outcome(StrEnum):
    """What became of one check on one track."""

    RAN = "ran"
    SKIPPED = "skipped"
    CRASHED = "crashed"


@dataclass(frozen=True)
class Evidence:
    """One measured number beside the limit it is held against."""

    quantity: str
    measured: float
    limit: float
    unit: str


@dataclass(frozen=True)
class Observation:
    """What a check yields; the runner adds id, part, track and place.

    Parameters
    ----------
    note_indices
        Notes of the part concerned, in time order, at least one.
    message
        What is wrong, one or two sentences; never a place, never a cure.
    suggestion
        One imperative sentence that offers a choice.
    confidence
        0-1, taken from the inferred layer the check relied on.
    severity
        None for the severity declared by the check.
    span_ticks
        First and last tick concerned; None takes them from the notes.
    """

    note_indices: tuple[int, ...]
    message: str
    suggestion: str
    evidence: tuple[Evidence, ...]
    confidence: float = 1.0
    severity: Severity | None = None
    span_ticks: tuple[int, int] | None = None


@dataclass(frozen=True)
class Finding:
    """One finding, as in review.json."""

    id: str
    check: str
    family: str
    severity: Severity
    track: int
    part: str
    start: Location
    end: Location
    pitches: tuple[int, ...]
    message: str
    evidence: tuple[Evidence, ...]
    suggestion: str
    confidence: float
    source: str
    accepted: str | None = None


def severity_counts(findings: Iterable[Finding]) -> Counter[Severity]:
    """Findings by severity, accepted ones left out."""
    return Counter(finding.severity for finding in findings if finding.accepted is None)


@dataclass(frozen=True)
class CheckOutcome:
    """Whether a check ran on a track row; `reason` is empty when it ran."""

    check: str
    track: int
    outcome: Outcome
    reason: str = ""
