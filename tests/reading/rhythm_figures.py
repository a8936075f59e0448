"""How many onsets of published quartets come out where they were printed, played unevenly.

`MOCKCHECK_QUARTETS=FOLDER python -m tests.reading.rhythm_figures` plays every work with errors of
timing of its own for each note, normal, 0, 10, 20 and 30 ms (standard deviation), listens to the
file as a review does, and compares. The rhythms were counted in the first half of the composers.
"""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from time import process_time
from typing import Any

import numpy as np
from numpy.typing import NDArray

from mockcheck.checks._registry import Check, all_checks
from mockcheck.infer.rhythm import with_rhythm
from mockcheck.model.articulations import ArticulationColumns
from mockcheck.model.finding import Observation
from mockcheck.model.notes import Notes
from mockcheck.model.played import PlayedPart
from tests.reading.printed_rhythm import PrintedRhythm, halves

JITTERS_MS = (0.0, 10.0, 20.0, 30.0)
RHYTHM_CHECKS = (
    "odd-tuplet",
    "rhythm-too-fine",
    "middle-of-the-bar-hidden",
    "played-without-the-click",
)
GOALS = {0.0: 0.99, 10.0: 0.99, 20.0: 0.97, 30.0: 0.92}
_RIGHT_WITHIN_TICKS = 10
"""Less than half of what two neighbouring places of any printed rhythm are apart."""


@dataclass(frozen=True)
class Reading:
    """What became of one work at one jitter."""

    name: str
    notes: int
    right: int
    process_s: float
    bars: int
    findings: Counter[str]

    @property
    def share(self) -> float:
        """Right ones, 0-1."""
        return self.right / max(self.notes, 1)


def read_played(work: PrintedRhythm, jitter_ms: float, part: PlayedPart, seed: int = 1) -> Reading:
    """Play a work unevenly and read its rhythm; `part` is any part, for all but the notes."""
    rng = np.random.default_rng(seed)
    parts, orders = [], []
    tracks = [track for track in work.score.tracks if len(track.notes)]
    for track in tracks:
        notes, order = unevenly(track.notes, work, jitter_ms, rng)
        orders.append(order)
        parts.append(
            replace(part, notes=notes, timeline=work.score.timeline, lines=None, written=None)
        )
    begun = process_time()
    read = with_rhythm(parts)
    spent = process_time() - begun
    right = known = 0
    for own, order, (name, printed) in zip(read, orders, work.onsets.items(), strict=True):
        is_known = work.is_known[name][order]
        known += int(is_known.sum())
        if own.written is not None:
            off = np.abs(own.written.ticks() - printed[order])
            right += int((off[is_known] <= _RIGHT_WITHIN_TICKS).sum())
    bars = work.score.bar_count or 0
    return Reading(work.name, known, right, spent, bars, _findings(read))


def _findings(parts: Sequence[PlayedPart]) -> Counter[str]:
    """What the checks of rhythm say, by check and severity."""
    checks = [all_checks()[name] for name in RHYTHM_CHECKS]
    plain = [replace(part, articulation=_no_strokes(len(part.notes))) for part in parts]
    return Counter(
        f"{item.id} {(observed.severity or item.severity).label}"
        for item, observed in _observed(checks, plain)
    )


def _observed(
    checks: Sequence[Check[Any]], parts: Sequence[PlayedPart]
) -> Iterator[tuple[Check[Any], Observation]]:
    for item in checks:
        if item.find_in_score is not None:
            for _, observed in item.find_in_score(tuple(parts), item.params()):
                yield item, observed
            continue
        for part in parts:
            for observed in item.find(part, item.params()):
                yield item, observed


def _no_strokes(notes: int) -> ArticulationColumns:
    return ArticulationColumns(np.ones(notes, np.int8), np.ones(notes))


def unevenly(
    notes: Notes, work: PrintedRhythm, jitter_ms: float, rng: np.random.Generator
) -> tuple[Notes, NDArray[np.int64]]:
    """Notes each begun and ended early or late by one amount, and which printed note each is."""
    tempo = work.score.timeline.tempo
    late_s = rng.normal(0.0, jitter_ms / 1000, len(notes))
    onset_s = np.maximum(notes.onset_s + late_s, 0.0)
    release_s = onset_s + notes.duration_s
    onset, release = tempo.ticks_at(onset_s), tempo.ticks_at(release_s)
    order = np.lexsort((notes.event_index, notes.pitch, onset))
    moved = replace(
        notes,
        onset_ticks=onset,
        release_ticks=np.maximum(release, onset),
        onset_s=tempo.seconds_at(onset),
        release_s=tempo.seconds_at(np.maximum(release, onset)),
    )
    return moved.select(order), order


def main() -> None:
    """Print the figures of both halves."""
    part = some_part()
    for half, works in zip(("counted", "reported"), halves(), strict=True):
        known = np.concatenate([mask for work in works for mask in work.is_known.values()])
        sys.stdout.write(f"{half}: {known.mean():.1%} of the notes on known places\n")
        for jitter_ms in JITTERS_MS:
            sys.stdout.write(
                line_for([read_played(work, jitter_ms, part) for work in works], jitter_ms)
            )


def some_part() -> PlayedPart:
    """Any part: all but its notes and its bars is left as it is."""
    from tests.phrases import phrase

    return phrase("violin 4/4 q=100 | C5:4 |")


def line_for(readings: Sequence[Reading], jitter_ms: float) -> str:
    """One line of figures."""
    notes = sum(reading.notes for reading in readings)
    right = sum(reading.right for reading in readings)
    spent_s = sum(reading.process_s for reading in readings)
    worst = sorted(readings, key=lambda reading: reading.share)[:4]
    bars = sum(reading.bars for reading in readings)
    findings = sum((reading.findings for reading in readings), Counter[str]())
    found = ", ".join(f"{100 * n / bars:.2f} {name}" for name, n in sorted(findings.items()))
    named = ", ".join(f"{reading.name} {reading.share:.1%}" for reading in worst)
    return (
        f"  {jitter_ms:2.0f} ms: {right / max(notes, 1):.2%} of {notes:,} on the printed place"
        f" (asked {GOALS[jitter_ms]:.0%}); {1e5 * spent_s / max(notes, 1):.1f} s for 100,000 notes;"
        f" least right: {named}\n    in 100 bars: {found or 'no findings'}\n"
    )


if __name__ == "__main__":
    main()
