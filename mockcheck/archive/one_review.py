"""One review among many: what comes back of it, here or from a cluster."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from mockcheck.archive.files import FoundFile
from mockcheck.model.record import ReviewRecord
from mockcheck.model.review import Review
from mockcheck.model.score import Score
from mockcheck.model.session import Session
from mockcheck.pipeline import review_score
from mockcheck.report._verdict import verdict

Extra = Callable[[Review, FoundFile], str]
"""Made of a review while its notes are there, in the worker; what it returns comes back."""


@dataclass(frozen=True)
class Reviewed:
    """What comes back of a review; `extra` is what the caller had made of it, if anything."""

    record: ReviewRecord
    verdict: str
    extra: str = ""


def reviewed(
    score: Score, file: FoundFile, session: Session, extra: Extra | None = None
) -> Reviewed:
    """Review music that was read; raises as `mockcheck.review` does."""
    review = review_score(score, session)
    made = extra(review, file) if extra is not None else ""
    return Reviewed(ReviewRecord.of(review), verdict(review, is_alone=True), made)
