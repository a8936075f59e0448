"""Reviews of many files: taken from the cache, or made by all cores or on a cluster."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from mockcheck.archive.cache import Cache, Kept, entry_key, session_key
from mockcheck.archive.cluster import review_on_cluster
from mockcheck.archive.files import FoundFile
from mockcheck.archive.one_review import Extra, Reviewed, reviewed
from mockcheck.archive.pool import TIMEOUT_S, Done, Kind, run_each
from mockcheck.errors import UserError
from mockcheck.model.finding import Outcome as CheckState
from mockcheck.model.session import Session
from mockcheck.read import load


@dataclass(frozen=True)
class Outcome:
    """What became of one file; `sha256` of its bytes is None where they cannot be read."""

    file: FoundFile
    sha256: str | None
    done: Done[Reviewed]


def review_files(
    files: Sequence[FoundFile],
    session: Session,
    *,
    extra: Extra | None = None,
    extra_name: str = "",
    processes: int | None = None,
    timeout_s: float | None = TIMEOUT_S,
    cache: Cache | None = None,
    scheduler: str | None = None,
    on_done: Callable[[], None] = lambda: None,
) -> list[Outcome]:
    """Review every file; whatever befalls one, the others are reviewed.

    Parameters
    ----------
    extra
        A picklable function that makes more of each review, while it has its notes.
    extra_name
        What it makes, if that hangs on the review alone: it is kept under this name beside the
        record. Without a name the cache is written but not read, since `extra` may do more.
    processes, timeout_s
        As for `run_each`.
    cache
        None keeps nothing. Crashes and files that took too long are never kept.
    scheduler
        Address of a Dask scheduler whose workers do it instead of ours.
    on_done
        Called once for each file, in whatever order they are over.

    Returns one outcome a file, in the order of `files`.
    """
    shelf = _Shelf(cache, session, extra, extra_name)
    outcomes: dict[Path, Outcome] = {}
    digests: dict[Path, str] = {}
    missing: dict[Path, FoundFile] = {}
    for file in files:
        known = shelf.look_up(file)
        if isinstance(known, Outcome):
            outcomes[file.path] = known
            on_done()
        else:
            missing[file.path], digests[file.path] = file, known

    def take(done: Done[Reviewed]) -> None:
        outcomes[done.path] = Outcome(missing[done.path], digests[done.path], done)
        shelf.keep(outcomes[done.path])
        on_done()

    if scheduler is None:
        work = partial(_review_path, named=missing, session=session, extra=extra)
        run_each(list(missing), work, processes=processes, timeout_s=timeout_s, on_done=take)
    else:
        rest = list(missing.values())
        review_on_cluster(rest, session, scheduler, extra, timeout_s=timeout_s, on_done=take)
    if cache is not None:
        cache.prune()
    return [outcomes[file.path] for file in files]


def digest_of(path: Path) -> str:
    """SHA-256 of a file's bytes, which are not held in memory; raises OSError for what is none."""
    if not path.is_file():
        message = f"{path} is no ordinary file"
        raise OSError(message)
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


def _review_path(
    path: Path, named: Mapping[Path, FoundFile], session: Session, extra: Extra | None
) -> Reviewed:
    return reviewed(load(path), named[path], session, extra)


class _Shelf:
    """What is kept of a run, if anything, and under which key."""

    def __init__(
        self, cache: Cache | None, session: Session, extra: Extra | None, extra_name: str
    ) -> None:
        self._cache = cache
        self._key = f"{session_key(session)} {extra_name}" if cache is not None else ""
        self._is_whole = extra is None or extra_name != ""

    def look_up(self, file: FoundFile) -> Outcome | str:
        """What is known of the file already, or else the digest of its bytes."""
        try:
            sha256 = digest_of(file.path)
        except OSError:
            try:
                return load(file.path).sha256
            except UserError as error:
                done: Done[Reviewed] = Done(
                    file.path, Kind.REFUSED, fault=str(error), is_unreadable=True
                )
                return Outcome(file, None, done)
        if self._cache is None or not self._is_whole:
            return sha256
        kept = self._cache.get(entry_key(sha256, self._key), file.path.name)
        return sha256 if kept is None else Outcome(file, sha256, _as_done(kept, file.path))

    def keep(self, outcome: Outcome) -> None:
        """Keep what came of a file, unless it hangs on more than file, brief and tool."""
        done, path, sha256 = outcome.done, outcome.file.path, outcome.sha256
        if self._cache is None:
            return
        if done.value is not None:
            record = done.value.record
            if all(check.outcome is not CheckState.CRASHED for check in record.outcomes):
                extra = done.value.extra if self._is_whole else ""
                kept = Kept(record, done.value.verdict, extra)
                # The worker's digest: the file may have been written anew since we looked.
                self._cache.put(entry_key(record.sha256, self._key), kept)
        elif done.kind is Kind.REFUSED and sha256 is not None and _is_still(path, sha256):
            kept = Kept(None, refusal=done.fault, name=path.name, is_unreadable=done.is_unreadable)
            self._cache.put(entry_key(sha256, self._key), kept)


def _as_done(kept: Kept, path: Path) -> Done[Reviewed]:
    if kept.record is not None:
        return Done(path, Kind.DONE, Reviewed(kept.record, kept.verdict, kept.extra))
    return Done(path, Kind.REFUSED, fault=kept.refusal, is_unreadable=kept.is_unreadable)


def _is_still(path: Path, sha256: str) -> bool:
    try:
        return digest_of(path) == sha256
    except OSError:
        return False
