"""From the bytes of a file to a Score and to who plays it."""

from __future__ import annotations

import hashlib
from pathlib import Path

from mockcheck.errors import UnreadableInput
from mockcheck.model.score import Score
from mockcheck.read.container import MAX_FILE_BYTES
from mockcheck.read.smf import read_smf
from mockcheck.read.tracks import build_score

__all__ = ["load", "read_bytes"]


def load(path: str | Path) -> Score:
    """Everything a MIDI file says.

    Raises UnreadableInput when there is no such file, it may not be read, or it holds no music;
    whatever else is wrong stands in the score's warnings.
    """
    path = Path(path)
    try:
        if path.exists() and not path.is_file():
            kind = "a folder" if path.is_dir() else "no ordinary file"
            message = f"{path}: this is {kind}; a MIDI file was expected. Name the file itself."
            raise UnreadableInput(message)
        with path.open("rb") as stream:
            # One byte more than allowed shows that there is too much.
            content = stream.read(MAX_FILE_BYTES + 1)
    except FileNotFoundError:
        message = f"{path}: there is no such file. Check the name and the folder."
        raise UnreadableInput(message) from None
    except PermissionError:
        message = f"{path}: you have no permission to read it. Change that, or copy the file."
        raise UnreadableInput(message) from None
    except (OSError, ValueError) as error:
        message = f"{path}: it cannot be read ({error}). Copy the file elsewhere and try again."
        raise UnreadableInput(message) from None
    return read_bytes(content, path.name)


def read_bytes(data: bytes, file: str) -> Score:
    """The music in the bytes of a MIDI file; `file` is its name, for messages.

    Raises UnreadableInput as `load` does.
    """
    raw = read_smf(data, file)
    return build_score(raw, file, hashlib.sha256(data).hexdigest())
