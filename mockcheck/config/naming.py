"""Levels and styles that a brief names: like one of the usual ones, with numbers of their own."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from typing import Any

from pydantic import AfterValidator

from mockcheck.model.session import Level, Style
from mockcheck.params import Params, quantity

LONGEST_NAME = 40


def own_name(kinds: type[StrEnum]) -> AfterValidator:
    """What such an entry may be called: printable text of a line, and no name that is taken."""

    def fits(name: str) -> str:
        if name in list(kinds):
            message = f"'{name}' is a name that is taken; give yours another one"
            raise ValueError(message)
        if not 1 <= len(name) <= LONGEST_NAME or not name.isprintable() or name != name.strip():
            message = f"give it a name of 1 to {LONGEST_NAME} letters, without spaces at its ends"
            raise ValueError(message)
        return name

    return AfterValidator(fits)


class LevelTable(Params):
    """`[levels.NAME]`: players prepared as at a level, and slower or quicker than those."""

    like: Level
    tempo_share: float = quantity(
        1,
        unit="share of the tempo",
        low=0.3,
        high=1.5,
        meaning="how fast these players go where those of `like` go as fast as they can; 0.75 is"
        " three quarters of that tempo",
        source="whoever knows the players",
    )


class StyleTable(Params):
    """`[styles.NAME]`: a style that slides like another, but for the numbers given."""

    like: Style
    slide_ms: float | None = quantity(
        None,
        unit="ms",
        low=50,
        high=5000,
        meaning="longest slide",
        source="whoever names the style",
    )
    slides_per_100_joins: float | None = quantity(
        None,
        unit="slides per 100 joins",
        low=0,
        high=100,
        meaning="what a section does, of all the joins of two notes that could slide",
        source="whoever names the style",
    )
    slides_per_minute: float | None = quantity(
        None,
        unit="slides per minute",
        low=0,
        high=200,
        meaning="what a section does",
        source="whoever names the style",
    )


def known_names(named: Any, kinds: type[StrEnum]) -> list[str]:
    """Every name that a level or style can be chosen by: the usual ones, then the brief's own."""
    own = [str(name) for name in named] if isinstance(named, Mapping) else []
    return list(dict.fromkeys([*kinds, *own]))
