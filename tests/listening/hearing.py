"""What the product heard of a rendering, beside the truth, note by note."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import mockcheck
from mockcheck.model.played import PlayedPart, PlayedScore
from mockcheck.model.score import Score
from tests.listening.truth import Rendering, TruthRow


@dataclass(frozen=True)
class HeardNote:
    """One true note; articulation None when the product took it for no music.

    `loudness` is 0-127, `slur` the number of its bow, -1 for one of its own.
    """

    row: TruthRow
    articulation: str | None = None
    confidence: float = 0.0
    loudness: float = float("nan")
    slur: int = -1

    @property
    def counted_as(self) -> str:
        """What was heard; the true name where the heard one is as right."""
        return self.row.articulation if self.is_right else self.articulation or "no note"

    @property
    def is_right(self) -> bool:
        return self.articulation in (self.row.articulation, *self.row.also)


@dataclass(frozen=True)
class Hearing:
    """A played score and its notes; `extra` counts notes heard that are no music."""

    rendering: Rendering
    played: PlayedScore
    notes: tuple[HeardNote, ...]
    extra: int


def listen(rendering: Rendering, score: Score, brief: Mapping[str, Any] | None = None) -> Hearing:
    """Play a rendering and find each true note in what was heard."""
    played = mockcheck.play(score, brief)
    heard: dict[tuple[int, int, int], tuple[str, float, float, int]] = {}
    count = 0
    for part in played.parts:
        chunk = chunk_of_rows(part)
        sureness = part.articulation.word_confidence
        for place, (row, onset, pitch) in enumerate(
            zip(part.track, part.notes.onset_ticks, part.notes.pitch, strict=True)
        ):
            key = (chunk[int(row)], int(onset), int(pitch))
            loudness = float("nan") if part.loudness is None else float(part.loudness[place])
            slur = -1 if part.slur is None else int(part.slur[place])
            heard[key] = (part.articulation.name(place), float(sureness[place]), loudness, slur)
            count += 1
    notes = []
    for true in rendering.rows:
        found = heard.get((true.track, true.onset, true.pitch))
        notes.append(HeardNote(true, *found) if found is not None else HeardNote(true))
    matched = sum(note.articulation is not None for note in notes)
    return Hearing(rendering, played, tuple(notes), count - matched)


def chunk_of_rows(part: PlayedPart) -> dict[int, int]:
    """MTrk chunk of each row of the review that a part is played from."""
    return {role.index: role.track_index for role in part.roles}
