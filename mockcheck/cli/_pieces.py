"""Reviews of a class's files, side by side, with the notes that grading needs."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from mockcheck.cli._progress import progress

if TYPE_CHECKING:
    from mockcheck.archive.cache import Cache
    from mockcheck.archive.files import FoundFile
    from mockcheck.archive.one_review import Reviewed
    from mockcheck.archive.pool import Done
    from mockcheck.grade.submission import Piece
    from mockcheck.grade.whole_class import Fault
    from mockcheck.model.review import Review
    from mockcheck.model.session import Session

_KEPT_AS = "music for grading"


def piece_of(path: Path, name: str, session: Session) -> Piece:
    """Review one file; raises as `mockcheck.review` does."""
    from mockcheck.grade.music import music_of
    from mockcheck.grade.submission import Piece
    from mockcheck.model.record import ReviewRecord
    from mockcheck.pipeline import review

    result = review(path, session)
    return Piece(name, ReviewRecord.of(result), music_of(result.played))


def pieces_of(
    files: Sequence[FoundFile],
    session: Session,
    processes: int | None,
    timeout_s: float | None,
    cache: Cache | None = None,
) -> tuple[dict[str, Piece], dict[str, Fault]]:
    """Review every file in processes of their own; what cannot be reviewed says why."""
    from mockcheck.archive.reviewing import review_files

    with progress(len(files)) as step:
        outcomes = review_files(
            files,
            session,
            extra=_music_text,
            extra_name=_KEPT_AS,
            processes=processes,
            timeout_s=timeout_s,
            cache=cache,
            on_done=step,
        )
    pieces: dict[str, Piece] = {}
    faults: dict[str, Fault] = {}
    for outcome in outcomes:
        name, done = outcome.file.name, outcome.done
        if done.value is None:
            faults[name] = _fault(name, done)
        else:
            pieces[name] = _piece(name, done.value)
    return pieces, faults


def _music_text(review: Review, _: FoundFile) -> str:
    from mockcheck.grade.music import music_of

    return music_of(review.played).to_json()


def _piece(name: str, reviewed: Reviewed) -> Piece:
    from mockcheck.grade.music import PieceMusic
    from mockcheck.grade.submission import Piece

    return Piece(name, reviewed.record, PieceMusic.from_json(reviewed.extra))


def _fault(name: str, done: Done[Reviewed]) -> Fault:
    from mockcheck.archive.pool import Kind
    from mockcheck.grade.whole_class import Fault

    reason = done.fault or "it could not be reviewed"
    # Messages name the file by the path that was given, which may tell where somebody's folder is.
    reason = reason.replace(str(done.path), name)
    if done.kind is Kind.CRASHED:
        reason = f"{name}: this is a fault of mockcheck, not of the file ({reason})."
    elif done.kind is Kind.STOPPED:
        reason = f"{name}: {reason}. Give each file longer with --timeout."
    return Fault(name, reason, is_ours=done.kind is Kind.CRASHED)
