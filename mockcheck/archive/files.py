"""Which MIDI files a list of files and folders means, and what each is called in a table."""

from __future__ import annotations

import os
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

from mockcheck.errors import UnreadableInput
from mockcheck.model.words import cell, printable

MIDI_ENDINGS = (".mid", ".midi", ".smf", ".kar", ".rmi")
"""Endings, in any case, by which a file in a folder is taken for MIDI."""

# Names that `mockcheck export` and `mockcheck rehearse --practice` give.
_OURS = re.compile(r"(\.(markers|players-copy)|^\d+-bars-.+-pass-\d+-\d+-percent)\.mid$")
_UNSAFE = re.compile(r'[<>:"\\|?*\x00-\x1f]')


@dataclass(frozen=True)
class FoundFile:
    """One file to be reviewed.

    Parameters
    ----------
    name
        What it is called in tables: its path below the folder that was given, with '/' between
        folders; a file that was named itself has its own name. Unique among the files found.
    """

    path: Path
    name: str

    @property
    def folder(self) -> str:
        """The first folder below the one given; empty for a file that lies right in it."""
        first, slash, _ = self.name.partition("/")
        return first if slash else ""


@dataclass(frozen=True)
class Found:
    """The files that were meant, and those in folders that were passed over as our own work."""

    files: tuple[FoundFile, ...]
    passed_over: tuple[Path, ...] = ()


def find_files(given: Sequence[Path], out: Path | None = None) -> Found:
    """The files named, and of each folder named all MIDI files in it and below it.

    Parameters
    ----------
    given
        Files and folders. Files stand where they were named, whatever they end in; those of a
        folder follow in the order of their paths, capitals first. A file reached twice counts once.
    out
        A folder of results, which is not looked into.

    Notes
    -----
    Hidden files and folders (their names begin with a dot) and links to folders are left out; so
    is what `export` and `rehearse` made, unless it is named itself.

    Raises UnreadableInput when a folder holds no MIDI file, or cannot be looked into.
    """
    seen: set[Path] = set()
    found: list[tuple[Path, str, str]] = []
    passed_over: list[Path] = []
    for place in given:
        rows = _inside(place, out, passed_over) if place.is_dir() else [(place, place.name)]
        for path, name in rows:
            if path.resolve() not in seen:
                seen.add(path.resolve())
                found.append((path, name, f"{place.resolve().name}/{name}"))
    return Found(tuple(_named(found, len(given) > 1)), tuple(passed_over))


def result_folders(files: Sequence[FoundFile]) -> list[Path]:
    """A folder for the results of each file, below the folder of the run.

    Named as the file, so that it is found; what a system may not allow in a name becomes '_', and
    a name that another one would overwrite, on a system that knows no capitals, gets a number.
    """
    taken: set[str] = set()
    folders = []
    for file in files:
        parts = [_safe(part) for part in PurePosixPath(file.name).parts if part not in ("/", "..")]
        path, number = Path(*parts), 1
        while str(path).casefold() in taken:
            number += 1
            path = Path(*parts[:-1], f"{parts[-1]}-{number}")
        taken.add(str(path).casefold())
        folders.append(path)
    return folders


def _inside(folder: Path, out: Path | None, passed_over: list[Path]) -> list[tuple[Path, str]]:
    rows = []
    results = out.resolve() if out is not None else None
    for path in _midi_files(folder):
        if results is not None and results in path.resolve().parents:
            continue
        if _OURS.search(path.name):
            passed_over.append(path)
        else:
            rows.append((path, path.relative_to(folder).as_posix()))
    if not rows:
        message = (
            f"{folder}: there is no MIDI file in this folder or below it; their names end in"
            f" {', '.join(MIDI_ENDINGS)}, and hidden ones are passed over. Name another folder, or"
            " the file itself."
        )
        raise UnreadableInput(message)
    return sorted(rows, key=lambda row: row[1])


def _midi_files(folder: Path) -> Iterator[Path]:
    for where, folders, names in os.walk(folder, onerror=_refuse):
        folders[:] = [name for name in folders if not name.startswith(".")]
        for name in names:
            if name.lower().endswith(MIDI_ENDINGS) and not name.startswith("."):
                yield Path(where, name)


def _refuse(error: OSError) -> None:
    message = (
        f"{error.filename}: cannot look into this folder ({error.strerror}). Change its"
        " permissions, or name the files themselves."
    )
    raise UnreadableInput(message)


def _named(found: Sequence[tuple[Path, str, str]], several: bool) -> Iterator[FoundFile]:
    """Short names where they are unique, longer ones where they are not, paths in the last case."""
    short = [row[1] for row in found]
    longer = [row[2] for row in found]
    whole = [path.as_posix() for path, _, _ in found]
    choices = (short, longer) if several else (short,)
    names = next((rows for rows in choices if len(set(rows)) == len(rows)), whole)
    taken: set[str] = set()
    for (path, _, _), name in zip(found, names, strict=True):
        # Names that differ in what cannot be printed would be one in a table.
        words, number = printable(name), 1
        while cell(words) in taken:
            number += 1
            words = f"{printable(name)} ({number})"
        taken.add(cell(words))
        yield FoundFile(path, words)


def _safe(part: str) -> str:
    # Windows drops dots and blanks at the end of a name.
    return _UNSAFE.sub("_", part).rstrip(". ") or "_"
