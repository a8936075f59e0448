"""A brief's values as TOML: what is read back is what was written."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from typing import Any


def to_toml(values: Mapping[str, Any], head: str) -> str:
    """The brief as a file, in the order in which TOML wants it: plain values, then tables.

    Parameters
    ----------
    values
        As `BriefTable` takes them: texts, numbers, truth values, lists, and tables of these.
    head
        A comment of one line for the top.

    Not modelled: dates, which no brief has.
    """
    lines = [f"# {head}", *_table(values, ())]
    return "\n".join(lines) + "\n"


def _table(values: Mapping[str, Any], path: tuple[str, ...]) -> Iterator[str]:
    for key, value in values.items():
        if not _is_table(value) and not _is_tables(value):
            yield f"{_key(key)} = {_value(value)}"
    for key, value in values.items():
        name = ".".join(map(_key, (*path, key)))
        if _is_table(value):
            yield from ("", f"[{name}]")
            yield from _table(value, (*path, key))
        elif _is_tables(value):
            for row in value:
                yield from ("", f"[[{name}]]")
                yield from _table(row, (*path, key))


def _is_table(value: object) -> bool:
    return isinstance(value, Mapping)


def _is_tables(value: object) -> bool:
    return isinstance(value, list | tuple) and bool(value) and all(map(_is_table, value))


def _key(key: str) -> str:
    is_bare = key.isascii() and bool(key) and all(sign.isalnum() or sign in "_-" for sign in key)
    return key if is_bare else _text(key)


def _value(value: object) -> str:
    if isinstance(value, str):
        return _text(value)
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, list | tuple):
        return f"[{', '.join(map(_value, value))}]"
    return repr(value)


def _text(text: str) -> str:
    # A JSON string is a TOML string, but for one control character that TOML escapes as well;
    # half a character has no place in a file of text.
    whole = text.encode("utf-8", "replace").decode("utf-8")
    return json.dumps(whole, ensure_ascii=False).replace("\x7f", "\\u007f")
