"""A brief and those it extends: found, read, and laid over each other, the nearest on top."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from mockcheck.config.toml_file import read_toml
from mockcheck.errors import BadBrief
from mockcheck.model.words import printable

EXTENDS = "extends"
JOINED = ("tracks", "accept")
"""Lists that briefs add to; every other list of a nearer brief replaces the farther one's."""

_REMEDY = "`mockcheck brief FILE.mid` prints one to start from."


@dataclass(frozen=True)
class BriefFile:
    """One file of a chain of briefs.

    Parameters
    ----------
    name
        What it is called: the first by its own name, the others as `extends` names them.
    values
        What it says, without an `extends` that was followed.
    path
        Where it is.
    """

    name: str
    path: Path
    values: Mapping[str, Any]


def read_chain(path: Path) -> tuple[BriefFile, ...]:
    """A brief and those it extends, nearest first.

    `extends` is a path from the folder of the brief that names it. An `extends` that is no text
    stays among the values, as a fault to be told with the others.

    Raises
    ------
    BadBrief
        A file of the chain is not there, cannot be read or is not TOML, or the chain has no end.
    """
    files: list[BriefFile] = []
    seen: list[Path] = []
    name = printable(path.name)
    while True:
        values = _read(path, [*(file.name for file in files), name])
        seen.append(path.resolve())
        base = values.get(EXTENDS)
        if not isinstance(base, str) or not base.strip():
            return (*files, BriefFile(name, path, values))
        followed = {key: value for key, value in values.items() if key != EXTENDS}
        files.append(BriefFile(name, path, followed))
        path, name = path.parent / base, printable(base)
        if _is_file(path) and path.resolve() in seen:
            message = (
                f"{_told([*(file.name for file in files), name])}, and that goes round in a circle."
                f" Take `extends` out of one of them."
            )
            raise BadBrief(message)


def _read(path: Path, names: Sequence[str]) -> dict[str, Any]:
    if len(names) == 1:
        return read_toml(path, "brief", _REMEDY)
    if not _is_file(path):
        message = (
            f"{_told(names)}, and that file is not there. Correct `extends` in {names[-2]}; the"
            f" path starts at the folder in which {names[-2]} is."
        )
        raise BadBrief(message)
    try:
        return read_toml(path, "brief", _REMEDY)
    except BadBrief as error:
        message = f"{_told(names)}; that one cannot be used. {error}"
        raise BadBrief(message) from None


def _is_file(path: Path) -> bool:
    try:
        return path.is_file()
    except (OSError, ValueError):
        # Text that no file can be called by.
        return False


def _told(names: Sequence[str]) -> str:
    """'class.toml: it extends house.toml, which extends school.toml'."""
    first, second, *others = names
    which = "".join(f", which extends {name}" for name in others)
    return f"{first}: it extends {second}{which}"


def merged(nearer: Mapping[str, Any], farther: Mapping[str, Any]) -> dict[str, Any]:
    """What holds when one brief extends another.

    Tables are merged key by key, and the nearer brief wins. `tracks` and `accept` are joined, the
    nearer brief's rows where they win: last in `tracks`, where a later row overrules an earlier
    one, and first in `accept`, where the first reason is given.
    """
    both = _over(nearer, farther)
    for key in JOINED:
        own, others = nearer.get(key), farther.get(key)
        if isinstance(own, list) and isinstance(others, list):
            both[key] = [*others, *own] if key == "tracks" else [*own, *others]
    return both


def _over(nearer: Mapping[str, Any], farther: Mapping[str, Any]) -> dict[str, Any]:
    both = dict(farther)
    for key, value in nearer.items():
        under = farther.get(key)
        both[key] = value
        if isinstance(value, Mapping) and isinstance(under, Mapping):
            both[key] = _over(value, under)
    return both


def merged_chain(files: Sequence[BriefFile]) -> dict[str, Any]:
    """What a chain says in all; the nearest comes first in `files`."""
    both: dict[str, Any] = {}
    for file in reversed(files):
        both = merged(file.values, both)
    return both


def own_rows(files: Sequence[BriefFile], key: str) -> range:
    """Which of the merged rows of `tracks` or `accept` are the nearest file's own."""
    own, every = files[0].values.get(key, []), merged_chain(files).get(key)
    if not isinstance(own, list) or not isinstance(every, list):
        return range(0)
    return range(len(every) - len(own), len(every)) if key == "tracks" else range(len(own))


def origin(files: Sequence[BriefFile], steps: tuple[str | int, ...]) -> tuple[int, tuple[Any, ...]]:
    """Which file says what stands at a key of the merged brief.

    Parameters
    ----------
    steps
        The key, step by step; a step that is a number counts rows of the merged list, from 0.

    Returns
    -------
    Number of the file in `files`, and the key within it. Of a key that no file has, as far as one
    of them goes; the nearest of those that go equally far.
    """
    if len(steps) > 1 and steps[0] in JOINED and isinstance(steps[1], int):
        own = own_rows(files, steps[0])
        if steps[1] in own:
            return 0, (steps[0], own.index(steps[1]), *steps[2:])
        row = steps[1] - (len(own) if steps[1] >= own.stop else 0)
        number, inside = origin(files[1:], (steps[0], row, *steps[2:]))
        return number + 1, inside
    depths = [_depth(file.values, steps) for file in files]
    return depths.index(max(depths)), steps


def _depth(values: Any, steps: Sequence[str | int]) -> int:
    """How many steps of a key a brief has."""
    for depth, step in enumerate(steps):
        if not isinstance(values, Mapping) or step not in values:
            return depth
        values = values[step]
    return len(steps)
