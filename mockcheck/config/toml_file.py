"""TOML files that users write: read as plain values, and their faults told all at once."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from mockcheck.errors import BadBrief
from mockcheck.model.words import printable

_PLAINER = {
    "Input should": "this must",
    "greater than or equal to": "at least",
    "less than or equal to": "at most",
    "greater than": "more than",
}
"""Words of the validator, and what a reader who is no programmer takes for the same."""
_IS_KEY = "[key]"
"""How pydantic says that the name of an entry is at fault, not what stands under it."""


def read_toml(path: Path, kind: str, remedy: str) -> dict[str, Any]:
    """Read a TOML file as plain values.

    Parameters
    ----------
    kind
        What the file is to its user: 'brief'.
    remedy
        A sentence on how to get one, for when it is not there.

    Raises
    ------
    BadBrief
        The file is not there, not text, or not TOML.
    """
    try:
        return tomllib.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        message = f"{path}: there is no such {kind}. {remedy}"
        raise BadBrief(message) from None
    except (OSError, UnicodeDecodeError) as error:
        message = f"{path}: the {kind} cannot be read ({error}). Give a text file in UTF-8."
        raise BadBrief(message) from None
    except tomllib.TOMLDecodeError as error:
        message = f"{path}: this is not TOML: {error}. Correct that line and try again."
        raise BadBrief(message) from None


def fault_words(detail: Any, prefix: str = "") -> str:
    """One of pydantic's error details as a line: the key it stands at and what is wrong."""
    return at_key((prefix, *detail["loc"]), fault_text(detail))


def at_key(steps: Sequence[str | int], text: str) -> str:
    """A fault as a line: the key, step by step from the outermost table, and what is wrong.

    A step that is a number counts the tables of one name from 0; users count them from 1.
    """
    place = ""
    for step in steps:
        if isinstance(step, int):
            place += f" row {step + 1}"
        elif step not in ("", _IS_KEY):
            place += f".{step}" if place else step
    return f"{printable(place) or 'whole file'}: {text}"


def fault_text(detail: Any) -> str:
    """What is wrong in one of pydantic's error details, without its key."""
    text = str(detail["msg"]).removeprefix("Value error, ")
    for theirs, plainer in _PLAINER.items():
        text = text.replace(theirs, plainer, 1)
    if detail["type"] == "extra_forbidden":
        text = "there is no such key here; remove it or correct its spelling"
    elif detail["type"] == "missing":
        text = "this key is required"
    elif not isinstance(detail.get("input"), Mapping):
        text = f"{text} (found {detail.get('input')!r})"
    return text


def fault_list(origin: str, kind: str, faults: Sequence[str]) -> str:
    """The message that holds every fault of a file."""
    head = f"{origin}: the {kind} cannot be used:"
    return "\n".join([head, *(f"  - {fault}" for fault in faults)])
