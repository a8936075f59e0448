"""One review as plain records that can be counted, compared and sent between processes."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import mockcheck
from mockcheck.model.review import Review

SEVERITIES = ("impossible", "risky", "awkward", "remark")


@dataclass(frozen=True)
class Found:
    """A finding; `track` is the name of its MIDI track, bars count from 1."""

    check: str
    family: str
    severity: str
    track: str
    part: str
    first_tick: int
    last_tick: int
    first_bar: int
    last_bar: int
    pitches: tuple[int, ...]
    measured: str

    @property
    def key(self) -> tuple[str, str, str, int, tuple[int, ...]]:
        """What makes two findings of two reviews the same one."""
        return (self.check, self.severity, self.track, self.first_tick, self.pitches)


def brief_for(
    level: str | None, players: int | None, tracks: Sequence[Mapping[str, Any]] = ()
) -> dict[str, Any]:
    """The brief of a test: a level, the same number of players on every part, and more rows."""
    brief: dict[str, Any] = {} if level is None else {"level": level}
    rows = [] if players is None else [{"match": "*", "players": players}]
    if rows or tracks:
        brief["tracks"] = [*rows, *map(dict, tracks)]
    return brief


def found_in(review: Review) -> list[Found]:
    """The findings of a review as records."""
    return [
        Found(
            check=finding.check,
            family=finding.family,
            severity=finding.severity.label,
            track=review.tracks[finding.track].name,
            part=finding.part,
            first_tick=finding.start.tick,
            last_tick=finding.end.tick,
            first_bar=finding.start.bar or 0,
            last_bar=finding.end.bar or 0,
            pitches=finding.pitches,
            measured="; ".join(
                f"{item.quantity} {item.measured:g}, limit {item.limit:g} {item.unit}"
                for item in finding.evidence
            ),
        )
        for finding in review.findings
    ]


def review_file(
    path: Path,
    level: str | None = None,
    players: int | None = None,
    tracks: Sequence[Mapping[str, Any]] = (),
) -> list[Found]:
    """Review one file; a check that crashes is an error here, not a skipped line.

    `tracks` are rows of `[[tracks]]` of the brief.
    """
    review = mockcheck.review(path, brief_for(level, players, tracks))
    crashed = [outcome for outcome in review.outcomes if outcome.outcome == "crashed"]
    if crashed:
        message = f"{path.name}: {crashed[0].check} crashed: {crashed[0].reason}"
        raise RuntimeError(message)
    return found_in(review)


def only_in(left: Sequence[Found], right: Sequence[Found]) -> list[Found]:
    """Findings of the left review that the right one does not have, each as often as it occurs."""
    spare = Counter(found.key for found in right)
    rest = []
    for found in left:
        if spare[found.key]:
            spare[found.key] -= 1
        else:
            rest.append(found)
    return rest
