"""How a check is declared and found; no musical knowledge.

A check is one public file of this folder: it declares its parameters and one function with
`@check(...)`, or with `@score_check(...)` where all parts must be seen at once. `all_checks()`
lists the folder, so a file that does not import stops the program.
"""

from __future__ import annotations

import importlib
import inspect
import pkgutil
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache, wraps
from typing import Any, Generic, TypeVar

import mockcheck.checks
from mockcheck.model.finding import FAMILIES, Observation, Severity
from mockcheck.model.played import PlayedPart
from mockcheck.params import Params

P = TypeVar("P", bound=Params)

FindInScore = Callable[[tuple[PlayedPart, ...], P], Iterator[tuple[PlayedPart, Observation]]]
"""Looks at all parts at once and says which part each observation stands beside."""

SECTIONS = ("Why a player minds", "Measured", "Fine when", "Source")
"""The labelled paragraphs that every check's docstring has, in this order."""


@dataclass(frozen=True)
class Check(Generic[P]):
    """One check: what it is called, how bad it is, and the function that looks.

    `needs_strings` is True when the check cannot look at a full-ensemble patch, whose strings
    are not known; the runner then skips it and says so. `find_in_score` is set for a check that
    looks at all parts at once; `find` then looks at one part as if it were alone.
    """

    id: str
    family: str
    severity: Severity
    title: str
    since: str
    is_preview: bool
    needs_strings: bool
    params: type[P]
    find: Callable[[PlayedPart, P], Iterator[Observation]]
    find_in_score: FindInScore[P] | None = None

    def __post_init__(self) -> None:
        if self.family not in FAMILIES:
            known = ", ".join(FAMILIES)
            message = f"check {self.id}: family must be one of {known}, not '{self.family}'"
            raise ValueError(message)

    def explanation(self) -> dict[str, str]:
        """The labelled paragraphs of the docstring, keyed by label."""
        text = inspect.getdoc(self.find) or ""
        parts = re.split(rf"^({'|'.join(SECTIONS)}): ", text, flags=re.MULTILINE)
        return {
            label: " ".join(body.split())
            for label, body in zip(parts[1::2], parts[2::2], strict=True)
        }


def check(
    *,
    id: str,
    family: str,
    severity: Severity,
    title: str,
    params: type[P],
    since: str = "0.1",
    is_preview: bool = False,
    needs_strings: bool = True,
) -> Callable[[Callable[[PlayedPart, P], Iterator[Observation]]], Check[P]]:
    """Declare the decorated function as a check.

    Raises ValueError for a family that does not exist.
    """

    def declare(find: Callable[[PlayedPart, P], Iterator[Observation]]) -> Check[P]:
        return Check(id, family, severity, title, since, is_preview, needs_strings, params, find)

    return declare


def score_check(
    *,
    id: str,
    family: str,
    severity: Severity,
    title: str,
    params: type[P],
    since: str = "0.1",
    is_preview: bool = False,
    needs_strings: bool = True,
) -> Callable[[FindInScore[P]], Check[P]]:
    """Declare the decorated function as a check of all parts at once, for what is said once a file.

    Raises ValueError for a family that does not exist.
    """

    def declare(find_in_score: FindInScore[P]) -> Check[P]:
        @wraps(find_in_score)
        def find(part: PlayedPart, p: P) -> Iterator[Observation]:
            for _, observed in find_in_score((part,), p):
                yield observed

        return Check(
            id, family, severity, title, since, is_preview, needs_strings, params, find,
            find_in_score,
        )  # fmt: skip

    return declare


@cache
def all_checks() -> dict[str, Check[Any]]:
    """Every check by id, in order of family and id.

    Raises ValueError when two files declare one id or an id differs from its file's name.
    """
    found: list[Check[Any]] = []
    for module in pkgutil.iter_modules(mockcheck.checks.__path__):
        if module.name.startswith("_"):
            continue
        namespace = vars(importlib.import_module(f"mockcheck.checks.{module.name}"))
        declared = [value for value in namespace.values() if isinstance(value, Check)]
        if [item.id for item in declared] != [module.name.replace("_", "-")]:
            message = f"checks/{module.name}.py must declare exactly the check of its own name"
            raise ValueError(message)
        found += declared
    found.sort(key=lambda item: (FAMILIES.index(item.family), item.id))
    return {item.id: item for item in found}
