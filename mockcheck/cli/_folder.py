"""Files that a command makes are written all or none, and never over others unasked."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path

from mockcheck.errors import BadBrief

_MOST_NAMED = 3


Made = tuple[str, Path, Mapping[str, bytes]]
"""The option that named a folder, the folder, and contents by name, a subfolder included."""


def write_all(made: Sequence[Made], *, replace: bool) -> None:
    """Write every file of every folder; folders are made where they are missing.

    Parameters
    ----------
    replace
        Overwrite what is there.

    Raises
    ------
    BadBrief
        Something is there already, and nothing was written; or a folder cannot be written to.
    """
    for option, folder, files in made:
        there = [name for name in files if (folder / name).exists()]
        if there and not replace:
            named = ", ".join(there[:_MOST_NAMED])
            message = (
                f"{option} {folder}: {named}{' ...' if len(there) > _MOST_NAMED else ''}"
                f" {'is' if len(there) == 1 else 'are'} there already. Choose another folder, or"
                " say --replace."
            )
            raise BadBrief(message)
    for option, folder, files in made:
        _write(option, folder, files)


@contextmanager
def writable(option: str, folder: Path) -> Iterator[None]:
    """The folder, made where it is missing; what cannot be written in it becomes a BadBrief."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        yield
    except OSError as error:
        message = (
            f"{option} {folder}: cannot write there ({error.strerror or error}). Choose another"
            " folder, or close the file if it is open elsewhere."
        )
        raise BadBrief(message) from None


def _write(option: str, folder: Path, files: Mapping[str, bytes]) -> None:
    with writable(option, folder):
        for name, data in files.items():
            (folder / name).parent.mkdir(parents=True, exist_ok=True)
            (folder / name).write_bytes(data)
