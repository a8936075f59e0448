"""What the brief says about one row of the track list, put together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from mockcheck.model.played import Role
from mockcheck.model.session import TrackChoice


def choice_for(role: Role, choices: Sequence[TrackChoice]) -> TrackChoice:
    """All that a brief says about a row counts; of two answers to one question the later one.

    Switches of several matching choices add up.
    """
    merged = TrackChoice(role.name)
    for choice in choices:
        if choice.is_for(role.name, role.index):
            said = {name: value for name, value in vars(choice).items() if value is not None}
            said["switches"] = merged.switches + choice.switches
            merged = replace(merged, **said)
    return merged
