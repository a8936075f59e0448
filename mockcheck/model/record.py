"""What is kept of a review when many files are reviewed: everything but the music."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from functools import cache
from typing import Any

from mockcheck.model.acceptance import UnusedAcceptance
from mockcheck.model.finding import CheckOutcome, Finding, Severity, severity_counts
from mockcheck.model.review import Review, TrackSummary
from mockcheck.model.score import ReadWarning


@dataclass(frozen=True)
class ReviewRecord:
    """A review without its notes: small enough to send between processes and to keep.

    Parameters
    ----------
    file
        The path as it was given.
    sha256
        Of the file's bytes.
    duration_s
        Length of the music, s.
    bars
        Bars of the music; 0 where the file has none.
    level
        The level of preparation in force.
    """

    file: str
    sha256: str
    duration_s: float
    bars: int
    level: str
    warnings: tuple[ReadWarning, ...]
    tracks: tuple[TrackSummary, ...]
    findings: tuple[Finding, ...]
    outcomes: tuple[CheckOutcome, ...]
    unused_acceptances: tuple[UnusedAcceptance, ...] = ()

    @classmethod
    def of(cls, review: Review) -> ReviewRecord:
        """What is kept of a review."""
        score = review.played.score
        return cls(
            file=score.file,
            sha256=score.sha256,
            duration_s=score.duration_s,
            bars=score.bar_count or 0,
            level=review.played.session.level_name,
            warnings=tuple(score.warnings),
            tracks=review.tracks,
            findings=review.findings,
            outcomes=review.outcomes,
            unused_acceptances=review.unused_acceptances,
        )

    @property
    def counts(self) -> Counter[Severity]:
        """Findings by severity, accepted ones left out."""
        return severity_counts(self.findings)

    def worst(self) -> Severity | None:
        """The worst severity that was not accepted; None for a clean review."""
        return max(self.counts, default=None)

    def to_json(self) -> bytes:
        """The record as JSON, from which `from_json` makes an equal one."""
        text: bytes = _adapter().dump_json(self)
        return text

    @classmethod
    def from_json(cls, text: bytes) -> ReviewRecord:
        """The record that `to_json` wrote; raises ValueError for anything else."""
        record: ReviewRecord = _adapter().validate_json(text)
        return record


@cache
def _adapter() -> Any:
    # Building it costs a tenth of a second, which a single review need not pay.
    from pydantic import TypeAdapter

    return TypeAdapter(ReviewRecord)
