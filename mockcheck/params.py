"""How every number that a verdict hangs on is declared: unit, legal range, meaning, source."""

from __future__ import annotations

from typing import Any

from pydantic import BaseModel, ConfigDict, Field


class Params(BaseModel):
    """The numbers of one check or one inferred layer; frozen, and unknown names are refused."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=False, allow_inf_nan=False)


def quantity(
    default: float | None,
    *,
    unit: str,
    low: float,
    high: float,
    meaning: str,
    source: str = "common practice, no source",
) -> Any:
    """One declared number: default with its unit, legal range (inclusive), meaning and source.

    A default of None is for what may be left open.
    """
    return Field(
        default=default,
        ge=low,
        le=high,
        description=meaning,
        json_schema_extra={"unit": unit, "source": source},
    )
