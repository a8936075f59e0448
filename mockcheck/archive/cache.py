"""Reviews kept from one run to the next, for as long as file, brief and mockcheck are the same."""

from __future__ import annotations

import hashlib
import json
import os
import tempfile
from collections.abc import Mapping, Set
from contextlib import suppress
from dataclasses import dataclass, fields, is_dataclass, replace
from enum import Enum
from functools import cache as once
from importlib import metadata
from pathlib import Path
from typing import Any

import mockcheck
from mockcheck.model.record import ReviewRecord
from mockcheck.model.session import Session

MOST_BYTES = 200_000_000
"""What the cache may hold; beyond, what has not been asked for longest goes. A review of a movement
of a quartet takes 75 kB."""
_CODE_ENDINGS = {".py", ".toml", ".json"}


@dataclass(frozen=True)
class Kept:
    """One answer: a review without its notes and its verdict in words, or why there is none.

    Parameters
    ----------
    extra
        What else was made of the review, for a caller who always makes the same of it.
    refusal
        The message to the user, which may name the file; None where there is a record.
    name
        The base name of the file in the refusal.
    is_unreadable
        Whether the file is at fault, and not the brief.
    """

    record: ReviewRecord | None
    verdict: str = ""
    extra: str = ""
    refusal: str | None = None
    name: str = ""
    is_unreadable: bool = False

    def to_json(self) -> bytes:
        """As JSON, from which `from_json` makes an equal one."""
        text: bytes = _adapter().dump_json(self)
        return text

    @classmethod
    def from_json(cls, text: bytes) -> Kept:
        """What `to_json` wrote; raises ValueError for anything else."""
        kept: Kept = _adapter().validate_json(text)
        return kept


class Cache:
    """Answers in a folder, each a file of its own, found by what the answer depends on.

    Parameters
    ----------
    folder
        Made when something is kept. Several processes may use it at the same time.
    most_bytes
        What it may hold after `prune`.

    Attributes
    ----------
    trouble
        Why something could not be kept; None while all goes well. A review never fails for it.
    """

    def __init__(self, folder: Path, most_bytes: int = MOST_BYTES) -> None:
        self.folder = folder
        self.trouble: str | None = None
        self._most_bytes = most_bytes
        self._has_grown = False

    def get(self, key: str, file: str) -> Kept | None:
        """What is kept under the key, for a file of this base name; None when there is nothing.

        A damaged entry counts as nothing, and so does a refusal that names another file.
        """
        path = self._path(key)
        try:
            digest, _, text = path.read_bytes().partition(b"\n")
            if digest.decode() != _digest_line(text):
                return None
            kept = Kept.from_json(text)
        except (OSError, ValueError):
            return None
        with suppress(OSError):
            # Others may own the folder, who let us read it.
            os.utime(path)
        if kept.record is None:
            return kept if kept.name == file else None
        return replace(kept, record=replace(kept.record, file=file))

    def put(self, key: str, kept: Kept) -> None:
        """Keep an answer, in one step, so that nobody ever reads half of it."""
        if kept.record is not None:
            # The same bytes under another name share the entry.
            kept = replace(kept, record=replace(kept.record, file=""))
        try:
            text = kept.to_json()
        except ValueError:
            # A name in an encoding that is no text, which is rare enough to go without.
            return
        path = self._path(key)
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            handle, part = tempfile.mkstemp(dir=path.parent, suffix=".part")
            try:
                with os.fdopen(handle, "wb") as stream:
                    stream.write(_digest_line(text).encode() + b"\n" + text)
                Path(part).replace(path)
            except BaseException:
                Path(part).unlink(missing_ok=True)
                raise
        except OSError as error:
            self.trouble = f"{self.folder}: {error.strerror or error}"
            return
        self._has_grown = True

    def prune(self) -> None:
        """Remove the oldest entries until what is left is small enough."""
        if not self._has_grown:
            return
        self._has_grown = False
        entries = []
        for path in self.folder.glob("??/*"):
            try:
                status = path.stat()
            except OSError:
                # Another process was quicker.
                continue
            entries.append((status.st_mtime, path, status.st_size))
        too_much = sum(size for _, _, size in entries) - self._most_bytes
        for _, path, size in sorted(entries):
            if too_much <= 0:
                break
            try:
                path.unlink(missing_ok=True)
            except OSError as error:
                self.trouble = f"{self.folder}: {error.strerror or error}"
            too_much -= size

    def _path(self, key: str) -> Path:
        return self.folder / key[:2] / f"{key}.json"


def default_folder() -> Path:
    """Where reviews are kept: $MOCKCHECK_CACHE, or the system's place for what can be made anew."""
    from platformdirs import user_cache_path

    named = os.environ.get("MOCKCHECK_CACHE")
    return Path(named) if named else user_cache_path("mockcheck", appauthor=False) / "reviews"


def session_key(session: Session) -> str:
    """Stands for all that a review depends on, but for the file: the brief in force, and the tool.

    The order in which a brief names its players is no difference.
    """
    plain = json.dumps([tool_identity(), _plain(session)], sort_keys=True)
    return hashlib.sha256(plain.encode()).hexdigest()


def entry_key(sha256: str, session: str) -> str:
    """The key of one file, by the digest of its bytes, under a session's key."""
    return hashlib.sha256(f"{sha256} {session}".encode()).hexdigest()


@once
def tool_identity() -> str:
    """Version and contents of this package, and the version of the package that computes for it.

    The version alone would hand a developer yesterday's findings after a check was changed, so all
    code and data are digested too: half a hundredth of a second a run.
    """
    root = Path(mockcheck.__file__).parent
    digest = hashlib.sha256()
    for path in sorted(root.rglob("*")):
        if path.suffix in _CODE_ENDINGS:
            content = path.read_bytes()
            name = path.relative_to(root).as_posix()
            digest.update(f"{name} {len(content)}\n".encode() + content)
    return f"{mockcheck.__version__} numpy {metadata.version('numpy')} {digest.hexdigest()}"


def _digest_line(text: bytes) -> str:
    """The first line of an entry: JSON too, and it finds any damage to the second."""
    return f'"{hashlib.sha256(text).hexdigest()}"'


def _plain(value: Any) -> Any:
    """Any part of a session as what JSON knows, the same in every process."""
    if isinstance(value, Enum):
        return str(value.value)
    if is_dataclass(value) and not isinstance(value, type):
        return {field.name: _plain(getattr(value, field.name)) for field in fields(value)}
    if hasattr(value, "model_dump"):
        return _plain(value.model_dump())
    if isinstance(value, Mapping):
        return {str(key): _plain(item) for key, item in value.items()}
    if isinstance(value, Set):
        return sorted((_plain(item) for item in value), key=repr)
    if isinstance(value, list | tuple):
        return [_plain(item) for item in value]
    return value


@once
def _adapter() -> Any:
    from pydantic import TypeAdapter

    return TypeAdapter(Kept)
