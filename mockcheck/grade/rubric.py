"""The rubric: how findings become points, read from TOML and validated with every fault at once."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ConfigDict, Field, ValidationError, field_validator

from mockcheck.config.toml_file import fault_list, fault_words, read_toml
from mockcheck.errors import BadBrief
from mockcheck.grade.conditions import Condition, kinds_of_condition
from mockcheck.model.finding import FAMILIES, Severity

_DEFAULT = "default_rubric.toml"


class _Table(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)


class SeverityPoints(_Table):
    """Points lost by one finding of each severity in `per_bars` bars of playing."""

    impossible: float = Field(ge=0, le=1000)
    risky: float = Field(ge=0, le=1000)
    awkward: float = Field(ge=0, le=1000)
    remark: float = Field(ge=0, le=1000)

    def of(self, severity: Severity) -> float:
        """Points of one severity."""
        points: float = getattr(self, severity.label)
        return points


class Caps(_Table):
    """The most points that can be lost to one check, one family, and all findings."""

    check: float = Field(ge=0)
    family: float = Field(ge=0)
    all: float = Field(ge=0)


class Doubt(_Table):
    """Findings less sure than `below` cost the share `factor`."""

    below: float = Field(ge=0, le=1)
    factor: float = Field(ge=0, le=1)


class FindingsTable(_Table):
    """`[findings]`."""

    per_bars: float = Field(gt=0, le=100_000)
    shortest_bars: float = Field(ge=1, le=100_000)
    whole_piece_from: float = Field(gt=0, le=1)
    same_place_factor: float = Field(ge=0, le=1)
    points: SeverityPoints
    caps: Caps
    doubt: Doubt


class ReferenceTable(_Table):
    """`[reference]`: points for what differs from the model, and what counts as differing."""

    most: float = Field(ge=0)
    missing: float = Field(ge=0)
    wrong: float = Field(ge=0)
    octave: float = Field(ge=0)
    rhythm: float = Field(ge=0)
    extra: float = Field(ge=0)
    transposed_part: float = Field(ge=0)
    instrument: float = Field(ge=0)
    tempo: float = Field(ge=0)
    tempo_tolerance: float = Field(gt=0, le=1)
    rhythm_tolerance_quarters: float = Field(gt=0, le=0.5)


class LikenessTable(_Table):
    """`[likeness]`: from what share and how many notes on a pair is pointed out."""

    share: float = Field(gt=0, le=1)
    notes: int = Field(ge=12, le=100_000)


class WordTable(_Table):
    """`[[words]]`: what the teacher calls some points and more."""

    word: str = Field(min_length=1)
    at_least: float = Field(alias="from", ge=0)


class Rubric(_Table):
    """The whole rubric."""

    total: float = Field(gt=0, le=10_000)
    findings: FindingsTable
    families: dict[str, float]
    requirements: tuple[Condition, ...] = ()
    bonuses: tuple[Condition, ...] = ()
    reference: ReferenceTable
    likeness: LikenessTable
    words: tuple[WordTable, ...] = ()

    @field_validator("families")
    @classmethod
    def _known_families(cls, weights: dict[str, float]) -> dict[str, float]:
        for family, weight in weights.items():
            if family not in FAMILIES:
                message = f"there is no family '{family}'; they are {', '.join(FAMILIES)}"
                raise ValueError(message)
            if not 0 <= weight <= 100:
                message = f"the weight of '{family}' is {weight:g}; give 0 to 100"
                raise ValueError(message)
        return weights

    @field_validator("words")
    @classmethod
    def _best_first(cls, words: tuple[WordTable, ...]) -> tuple[WordTable, ...]:
        return tuple(sorted(words, key=lambda row: -row.at_least))

    def word_for(self, points: float) -> str:
        """What the teacher calls these points; empty without words."""
        return next((row.word for row in self.words if points >= row.at_least), "")


def default_rubric_text() -> str:
    """The rubric that is used when none is given, with the reason for each number."""
    return resources.files("mockcheck.grade").joinpath(_DEFAULT).read_text(encoding="utf-8")


@cache
def _default_values() -> dict[str, Any]:
    return tomllib.loads(default_rubric_text())


def read_rubric(path: Path | None) -> Rubric:
    """The rubric of a file on top of the default one; None is the default itself.

    Raises BadBrief when the file is not there, not TOML, or holds faults, all of them told.
    """
    if path is None:
        return rubric_from(None, _DEFAULT)
    values = read_toml(path, "rubric", "`mockcheck grade --show-rubric` prints one to start from.")
    return rubric_from(values, path.name)


def rubric_from(values: Mapping[str, Any] | None, origin: str) -> Rubric:
    """Validate plain values, laid over the default; BadBrief lists every fault with its key."""
    try:
        return Rubric.model_validate(_laid_over(_default_values(), values or {}))
    except ValidationError as error:
        faults = [_fault(item) for item in error.errors()]
        raise BadBrief(fault_list(origin, "rubric", faults)) from None


def _laid_over(below: Mapping[str, Any], above: Mapping[str, Any]) -> dict[str, Any]:
    merged = dict(below)
    for key, value in above.items():
        under = below.get(key)
        both = isinstance(value, Mapping) and isinstance(under, Mapping)
        merged[key] = _laid_over(under, value) if both else value  # type: ignore[arg-type]  # both are mappings
    return merged


def _fault(detail: Any) -> str:
    if detail["type"] in {"union_tag_invalid", "union_tag_not_found"}:
        place = ".".join(str(step) for step in detail["loc"])
        return f"{place}: kind must be one of {', '.join(kinds_of_condition())}"
    return fault_words(detail)
