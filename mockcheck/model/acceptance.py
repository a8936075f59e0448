"""Findings that the composer means: what the brief accepts, and what of it is not found."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fnmatch import fnmatchcase

from mockcheck.model.finding import Finding
from mockcheck.model.words import bars_words, place_words

_RANGE = re.compile(r"^(\d{1,6})(?:\s*-\s*(\d{1,6}))?$")
_MOST_BARS = 100_000
_BARS_NAMED = 12


@dataclass(frozen=True)
class Acceptance:
    """One `[[accept]]` of the brief: a finding by its id, or all of one check at some bars.

    Parameters
    ----------
    reason
        Why it is meant, in the composer's words.
    id
        A finding's id; None when `check`, `part` and `bars` are given instead.
    check
        Id of a check.
    part
        Name of a part, or a shell pattern over names; upper and lower case are alike.
    bars
        Bars, from 1, in which an accepted finding begins; None for all.
    is_shared
        Whether a brief for many files says so: where it fits nothing, nothing is amiss.
    """

    reason: str
    id: str | None = None
    check: str | None = None
    part: str | None = None
    bars: frozenset[int] | None = None
    is_shared: bool = False

    def is_for_part(self, name: str) -> bool:
        """Whether the acceptance by place is about this part."""
        if self.part is None:
            return False
        wanted, here = self.part.strip().casefold(), name.casefold()
        # A name with brackets is no pattern to whoever copies it into the brief.
        return wanted == here or fnmatchcase(here, wanted)

    def is_at(self, finding: Finding) -> bool:
        """Whether a finding of any check begins at the part and bars accepted."""
        return self.is_for_part(finding.part) and (
            self.bars is None or finding.start.bar in self.bars
        )

    @property
    def words(self) -> str:
        """What is accepted, as a report names it."""
        if self.id is not None:
            return self.id
        where = "all bars" if self.bars is None else bars_words(self.bars, _BARS_NAMED)
        return f"{self.check} in '{self.part}', {where}"


@dataclass(frozen=True)
class UnusedAcceptance:
    """An acceptance that fits no finding, and the findings nearest to it, nearest first."""

    acceptance: Acceptance
    nearest: tuple[Finding, ...]

    @property
    def words(self) -> str:
        """What is not found, and what there is instead, as one or two sentences."""
        said = f"{self.acceptance.words} ({self.acceptance.reason}): no such finding now."
        if not self.nearest:
            return f"{said} Nothing like it is found; remove it from the brief."
        like = "; ".join(
            f"{f.part}, {place_words(f.start, f.end)}, id {f.id}" for f in self.nearest
        )
        return f"{said} The nearest: {like}."


def read_bars(text: str) -> frozenset[int] | None:
    """Bars as a report names them: '12', '12-14', '3, 20-22'; None for 'all'.

    Raises ValueError, with the forms it takes in its text, for anything else.
    """
    if text.strip().casefold() == "all":
        return None
    bars: set[int] = set()
    for item in text.split(","):
        match = _RANGE.match(item.strip())
        first = int(match[1]) if match else 0
        last = int(match[2] or first) if match else 0
        if not 1 <= first <= last <= _MOST_BARS:
            message = 'bars are counted from 1: write 12, "12-14", "3, 20-22" or "all"'
            raise ValueError(message)
        bars.update(range(first, last + 1))
    return frozenset(bars)
