"""What a finding is called: by its music, its part and what stands around it, never by a place."""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass

_MUSIC, _PART, _SIDE = 8, 4, 3
"""Hexadecimal digits of each share of the name."""
_FORM = re.compile(
    rf"^(?P<check>[a-z0-9]+(?:-[a-z0-9]+)*)-(?P<music>[0-9a-f]{{{_MUSIC}}})(?P<part>[0-9a-f]{{{_PART}}})"
    rf"(?P<before>[0-9a-f]{{{_SIDE}}})(?P<after>[0-9a-f]{{{_SIDE}}})(?:-(?P<turn>[1-9][0-9]*))?$"
)


@dataclass(frozen=True)
class FindingId:
    """The id of a finding, taken apart.

    Parameters
    ----------
    check
        Id of the check.
    music
        Stands for the finding's own notes: pitches, rhythm and length.
    part
        Stands for the name of the part.
    before, after
        Stand for the notes of the part next to it on either side.
    turn
        1, or 2 and higher for the later ones of literally repeated passages.
    """

    check: str
    music: str
    part: str
    before: str
    after: str
    turn: int = 1

    def __str__(self) -> str:
        name = f"{self.check}-{self.music}{self.part}{self.before}{self.after}"
        return name if self.turn == 1 else f"{name}-{self.turn}"

    def is_same_music(self, other: FindingId) -> bool:
        """The same check found the same notes, and on one side at least the same stands next.

        One side is enough, because bars may have been inserted or cut right beside it; none is
        not, because a single note says too little: the next low F is another one.
        """
        return (self.check, self.music) == (other.check, other.music) and (
            self.before == other.before or self.after == other.after
        )


def name_finding(check: str, part: str, music: str, before: str, after: str) -> FindingId:
    """The id of a finding whose notes, and those on either side, are given as any exact text."""
    return FindingId(
        check,
        _digits(music, _MUSIC),
        part_digits(part),
        _digits(before, _SIDE),
        _digits(after, _SIDE),
    )


def part_digits(name: str) -> str:
    """What stands for a part's name in the ids of its findings."""
    return _digits(name, _PART)


def read_finding_id(text: str) -> FindingId:
    """An id as a report prints it, taken apart.

    Raises ValueError for text that is no id.
    """
    match = _FORM.match(text.strip())
    if match is None:
        message = (
            f"'{text}' is not the id of a finding; review.json, findings.csv and"
            " `mockcheck review --all` give them"
        )
        raise ValueError(message)
    return FindingId(
        match["check"],
        match["music"],
        match["part"],
        match["before"],
        match["after"],
        int(match["turn"] or 1),
    )


def _digits(text: str, count: int) -> str:
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()[:count]
