"""TOML that still parses after it was damaged: values, keys and rows changed, not bytes."""

from __future__ import annotations

import copy
import datetime
import random
import re
import tomllib
from collections.abc import Iterator, Sequence
from typing import Any

_ODD_NUMBERS = (0, -1, 1, 2, 127, 128, 10**6, 2**31, 2**63 - 1, -(2**63), 0.5, 1e-300, -1e308)
_ODD_FLOATS = (float("inf"), float("-inf"), float("nan"), -0.0)
_ODD_TEXTS = ("", " ", "\x00", "a\nb", "é" * 70, "*", "[", "../x", "0", "C4", "1-3", "9-1", "all")
_ODD_DATES = (datetime.date(1, 1, 1), datetime.time(0), datetime.datetime(9999, 12, 31, 23, 59))
ODD: tuple[Any, ...] = (
    *_ODD_NUMBERS, *_ODD_FLOATS, *_ODD_TEXTS, *_ODD_DATES, True, False, [], {}, [[]], {"": 0},
)  # fmt: skip
"""What a value may be replaced with; every type that TOML has is among them."""

_ESCAPED = re.compile(r'[\x00-\x1f"\\\x7f]')
_KINDS = (0, 1, 1, 2, 3, 4, 4, 4, 5)
"""Kinds of change, those more often after which a file is often still valid."""
_FACTORS = (-1, 0.5, 0.999, 1.001, 2, 1000)

Slot = tuple[Any, Any]
"""A table or list, and the key or place in it."""


def mutate_toml(data: bytes, words: Sequence[tuple[str, Any]], rng: random.Random) -> bytes | None:
    """The same file with one to five changes, or None where the bytes are not TOML.

    `words` are keys with a value each, as `vocabulary` finds them.
    """
    try:
        values = tomllib.loads(data.decode("utf-8"))
    except (ValueError, RecursionError):
        return None
    for _ in range(rng.choice((1, 1, 1, 2, 5))):
        _change(values, words, rng)
    return dump(values).encode()


def vocabulary(values: Any) -> Iterator[tuple[str, Any]]:
    """Every key of a file, at any depth, with what stands there."""
    for holder, key in _slots(values):
        if isinstance(key, str):
            yield key, holder[key]


def _change(values: dict[str, Any], words: Sequence[tuple[str, Any]], rng: random.Random) -> None:
    slots = list(_slots(values))
    kind = rng.choice(_KINDS)
    if kind == 0 or not slots:
        tables = [values, *(h[k] for h, k in slots if isinstance(h[k], dict))]
        key, value = rng.choice(words)
        rng.choice(tables)[key] = copy.deepcopy(value)
        return
    holder, key = rng.choice(slots)
    if kind == 1:
        del holder[key]
    elif kind == 2:
        holder[key] = copy.deepcopy(rng.choice(ODD))
    elif kind == 3:
        holder[key] = copy.deepcopy(rng.choice(words)[1])
    elif kind == 4:
        holder[key] = _nudged(holder[key], rng)
    elif isinstance(holder[key], list):
        holder[key] = holder[key] * 2
    else:
        holder[key] = [holder[key]]


def _nudged(value: Any, rng: random.Random) -> Any:
    if isinstance(value, bool):
        return not value
    if isinstance(value, int):
        return value + rng.choice((-12, -1, 1, 12))
    if isinstance(value, float):
        return value * rng.choice(_FACTORS)
    if isinstance(value, str) and value:
        at = rng.randrange(len(value))
        return value[:at] + rng.choice(("", "x", "9", "-", " ", value)) + value[at + 1 :]
    return value


def _slots(value: Any) -> Iterator[Slot]:
    if isinstance(value, dict | list):
        for key, inside in value.items() if isinstance(value, dict) else enumerate(value):
            yield value, key
            yield from _slots(inside)


def dump(values: dict[str, Any]) -> str:
    """TOML 1.0 with a line for each key of the top; deeper tables stand in braces."""
    return "".join(f"{_text(key)} = {_value(value)}\n" for key, value in values.items())


def _value(value: Any) -> str:
    if isinstance(value, dict):
        return (
            "{" + ", ".join(f"{_text(key)} = {_value(item)}" for key, item in value.items()) + "}"
        )
    if isinstance(value, list):
        return "[" + ", ".join(map(_value, value)) + "]"
    if isinstance(value, str):
        return _text(value)
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, datetime.date | datetime.time):
        return value.isoformat()
    # TOML spells numbers, inf and nan as Python does, and like Python from 1.0.
    return repr(value)


def _text(text: str) -> str:
    return '"' + _ESCAPED.sub(lambda match: f"\\u{ord(match[0]):04x}", text) + '"'
