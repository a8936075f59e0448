"""Reviews of a class's files, side by side, with the notes that grading needs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from mockcheck.cli._progress import progress

if TYPE_CHECKING:
    from mockcheck.archive.files import FoundFile
    from mockcheck.archive.pool import Done
    from mockcheck.grade.submission import Piece
    from mockcheck.grade.whole_class import Fault
    from mockcheck.model.session import Session


def piece_of(path: Path, names: Mapping[Path, str], session: Session) -> Piece:
    """Review one file; raises as `mockcheck.review` does."""
    from mockcheck.grade.music import music_of
    from mockcheck.grade.submission import Piece
    from mockcheck.model.record import ReviewRecord
    from mockcheck.pipeline import review

    result = review(path, session)
    return Piece(names[path], ReviewRecord.of(result), music_of(result.played))


def pieces_of(
    files: Sequence[FoundFile],
    session: Session,
    processes: int | None,
    timeout_s: float | None,
) -> tuple[dict[str, Piece], dict[str, Fault]]:
    """Review every file in processes of their own; what cannot be reviewed says why."""
    from mockcheck.archive.pool import run_each

    names = {file.path: file.name for file in files}
    work = partial(piece_of, names=names, session=session)
    with progress(len(files)) as step:
        done = run_each(
            [file.path for file in files],
            work,
            processes=processes,
            timeout_s=timeout_s,
            on_done=lambda _: step(),
        )
    pieces = {names[row.path]: row.value for row in done if row.value is not None}
    faults = {names[row.path]: _fault(names[row.path], row) for row in done if row.value is None}
    return pieces, faults


def _fault(name: str, done: Done[Piece]) -> Fault:
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
