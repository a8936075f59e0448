"""review.json: the contract `mockcheck.review/1`, the same bytes for the same review."""

from __future__ import annotations

import json
import math
import re
from importlib import resources
from pathlib import PureWindowsPath
from typing import Any

from mockcheck.model.review import Review

_DECIMALS = 6
_CODE_PLACE = re.compile(r'File "([^"]*)"')
_LONE_SURROGATE = re.compile("[\ud800-\udfff]")


def render_json(review: Review, file: str | None = None) -> str:
    """The review as JSON text that any reader of RFC 8259 accepts.

    `file` is what the file is called among others, as its path below a folder; None takes its name.

    Keys are sorted and each record of a list has a line of its own, so that two reviews compare
    line by line; floats have at most six decimals; what is not a number, or has no end, is null;
    no path of this machine is told. ASCII only: names from the file survive any terminal.
    """
    document = review.to_dict()
    name = base_name(document["source"]["file"]) if file is None else file
    document["source"] = document["source"] | {"file": name}
    document["checks"] = [
        row | {"reason": _without_folders(row["reason"])} for row in document["checks"]
    ]
    return json_text(document)


def json_text(document: dict[str, Any]) -> str:
    """Any document of ours laid out like the review, with the same care for odd values."""
    return "{\n" + ",\n".join(_entry(key, document[key]) for key in sorted(document)) + "\n}\n"


def review_schema() -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) that every review.json obeys."""
    text = resources.files("mockcheck.report").joinpath("review.schema.json").read_text("utf-8")
    schema: dict[str, Any] = json.loads(text)
    return schema


def _entry(key: str, value: Any) -> str:
    plain = _plain(value)
    if isinstance(plain, list) and plain:
        return f"{json.dumps(key)}: [\n" + ",\n".join(map(_dumps, plain)) + "\n]"
    return f"{json.dumps(key)}: {_dumps(plain)}"


def _dumps(value: Any) -> str:
    return json.dumps(value, sort_keys=True, allow_nan=False)


def _plain(value: Any) -> Any:
    """Only what JSON knows: numpy scalars become numbers, half a character becomes U+FFFD."""
    if isinstance(value, str):
        return value if value.isascii() else _LONE_SURROGATE.sub("\ufffd", value)
    if value is None or isinstance(value, bool | int):
        return value
    if isinstance(value, float):
        # Adding zero turns -0.0 into 0.0, which would print differently.
        return round(float(value), _DECIMALS) + 0.0 if math.isfinite(value) else None
    if isinstance(value, dict):
        return {str(key): _plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(item) for item in value]
    return _plain(value.item())


def base_name(file: str) -> str:
    """A file's name without its folders, on any system."""
    # A Windows path also splits at "/", so one rule serves the paths of every system.
    return PureWindowsPath(file).name


def _without_folders(traceback_text: str) -> str:
    return _CODE_PLACE.sub(lambda match: f'File "{PureWindowsPath(match[1]).name}"', traceback_text)
