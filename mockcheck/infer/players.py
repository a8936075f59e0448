"""How many players a part has."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from mockcheck.model.instrument import Instrument
from mockcheck.model.played import Role
from mockcheck.model.sections import SECTION_PRESETS, SectionSizes
from mockcheck.model.session import Session, TrackChoice
from mockcheck.read.track_names import read_name

_USUAL = SECTION_PRESETS["small studio"]
"""Whom a section has when nobody says."""

_DESK = re.compile(r"^(?P<section>.+?) (?:[a-h]|desk \d+)$")
_NUMBER = re.compile(r"^(?P<section>.+?) \d+$")


def count_players(
    parts: Mapping[str, Sequence[Role]],
    instruments: Mapping[str, Instrument],
    choices: Mapping[int, TrackChoice],
    session: Session,
) -> dict[str, int]:
    """The brief knows who is booked; without it a soloist is one and a section has a usual size.

    Parameters
    ----------
    parts
        Review rows of each part.
    instruments
        Who plays each part.
    choices
        What the brief says about each row, by row number.

    Returns
    -------
    Players of each part, at least 1. Parts that are desks of one section ('Viola a', 'Viola b')
    share its players, the first ones taking what is left over.
    """
    sections: dict[str, list[str]] = {}
    for part in parts:
        sections.setdefault(_section_of(part, instruments[part]), []).append(part)
    counts = {}
    sizes = session.sections or _USUAL
    for members in sections.values():
        for place, part in enumerate(members):
            size = _section_size(instruments[part], part, sizes)
            share = size // len(members) + (place < size % len(members))
            counts[part] = max(1, share)
    for part, roles in parts.items():
        if all(role.is_solo for role in roles):
            counts[part] = 1
        said = [count for role in roles if (count := choices[role.index].players) is not None]
        # Tracks of one part are the same players: the numbers do not add up.
        counts[part] = session.players.get(part, max(said, default=counts[part]))
    return counts


def share_players(players: int, lines: int) -> tuple[int, ...]:
    """Lines of a divided part get equally many players, upper ones whoever is left over.

    Parameters
    ----------
    players
        Players of the part, 1 or more.
    lines
        Lines it divides into, 1 or more.

    Returns
    -------
    Players of each line, the highest first; 0 for lines that nobody is left for. In two lines each
    desk of two divides, the outside player above, the inside player below; so the odd one out
    plays above.

    Source: common practice, no source.
    """
    share, left_over = divmod(players, lines)
    return tuple(share + (line < left_over) for line in range(lines))


def _section_size(instrument: Instrument, part: str, sizes: SectionSizes) -> int:
    if instrument.is_ensemble:
        return sizes.total
    return sizes.of(instrument.id, is_second=(read_name(part).section or 1) > 1)


def _section_of(part: str, instrument: Instrument) -> str:
    """The section whose players a part shares; a part of its own is its own section."""
    if desk := _DESK.match(part):
        return f"desks of {desk['section']}"
    # First and second violins are two sections; 'Viola 2' is half of the only one.
    number = None if instrument.id == "violin" or instrument.is_ensemble else _NUMBER.match(part)
    return f"desks of {number['section']}" if number else part
