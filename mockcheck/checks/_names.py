"""Which part a message about several stands beside, and how it names them; no measuring."""

from __future__ import annotations

from collections.abc import Sequence

from mockcheck.model.played import PlayedPart

_MOST_NAMED = 4


def top_part(parts: Sequence[PlayedPart]) -> PlayedPart:
    """The part that stands highest in a score, whatever the order of the tracks."""
    return min(parts, key=lambda part: (-part.instrument.open_strings[0], part.name))


def names_of(parts: Sequence[PlayedPart], every: int) -> str:
    """'all 4 parts' where these are every part of several, else 'Violin 1, Viola and Cello'."""
    if len(parts) == every > 1:
        return "both parts" if every == 2 else f"all {every} parts"
    names = [part.name for part in parts]
    if len(names) > _MOST_NAMED:
        names = [*names[: _MOST_NAMED - 1], f"{len(names) - _MOST_NAMED + 1} more"]
    return " and ".join([", ".join(names[:-1]), names[-1]]) if len(names) > 1 else names[0]
