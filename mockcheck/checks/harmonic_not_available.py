"""Harmonics that no string of the instrument has."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from mockcheck.checks._levels import is_soloist
from mockcheck.checks._registry import check
from mockcheck.model.finding import Evidence, Observation, Severity
from mockcheck.model.played import PlayedPart
from mockcheck.params import Params, quantity
from mockcheck.playing.harmonics import HarmonicWay, explain_no_harmonic, harmonics


class HarmonicNotAvailable(Params):
    """Limits of the check."""

    tolerance_cents: float = quantity(
        35,
        unit="cents",
        low=0,
        high=50,
        meaning="how far a partial may lie from the tempered note and still count as it",
        source="the seventh partial lies 31 cents flat (arithmetic)",
    )
    same_passage_s: float = quantity(
        4, unit="s", low=0, high=60, meaning="harmonics closer together are reported together"
    )


@check(
    id="harmonic-not-available",
    family="range",
    severity=Severity.IMPOSSIBLE,
    title="No string has the harmonic that is asked for.",
    params=HarmonicNotAvailable,
)
def find(part: PlayedPart, p: HarmonicNotAvailable) -> Iterator[Observation]:
    """Find notes played as harmonics that no natural or artificial form sounds.

    Why a player minds: a harmonic exists only at certain places of certain strings; elsewhere the
    touched string whistles or gives another note.
    Measured: every natural node and every artificial form in reach of a hand, for each pitch taken
    as sounding. Impossible where there is none. Where all ways are hard: risky for a section,
    awkward for one player or soloists.
    Fine when: the patch sounds at another octave than its notes are written; then move the notes.
    Source: ideal string, partial n has nodes at k/n of its length; how well each speaks is named
    with the harmonics of the playing model.
    """
    passage: list[int] = []
    severity_before: Severity | None = None
    for row in np.flatnonzero(part.articulation.is_any("harmonic")).tolist():
        severity = _grade(part, row, p)
        is_far = bool(passage) and (
            part.notes.onset_s[row] - part.notes.release_s[passage[-1]] > p.same_passage_s
        )
        if passage and (severity is not severity_before or is_far):
            yield _observe(part, passage, severity_before, p)
            passage = []
        if severity is not None:
            passage.append(row)
        severity_before = severity
    if passage:
        yield _observe(part, passage, severity_before, p)


def _ways(part: PlayedPart, pitch: int, p: HarmonicNotAvailable) -> tuple[HarmonicWay, ...]:
    return harmonics(
        part.instrument,
        pitch,
        middle_c_octave=part.session.middle_c_octave,
        tolerance_cents=p.tolerance_cents,
    )


def _nearest(part: PlayedPart, pitch: int, p: HarmonicNotAvailable) -> str:
    """The next harmonics below and above that speak without trouble, in words."""
    near = []
    for towards in (range(pitch - 1, -1, -1), range(pitch + 1, 128)):
        for other in towards:
            ways = _ways(part, other, p)
            if ways and ways[0].verdict != "hard":
                near.append(part.pitch_name(other))
                break
    return " or ".join(near)


def _grade(part: PlayedPart, row: int, p: HarmonicNotAvailable) -> Severity | None:
    ways = _ways(part, int(part.notes.pitch[row]), p)
    if not ways:
        return Severity.IMPOSSIBLE
    if ways[0].verdict == "hard":
        return Severity.AWKWARD if is_soloist(part) else Severity.RISKY
    return None


def _observe(
    part: PlayedPart, rows: list[int], severity: Severity | None, p: HarmonicNotAvailable
) -> Observation:
    pitches = sorted({int(part.notes.pitch[row]) for row in rows})
    names = " and ".join(part.pitch_name(pitch) for pitch in pitches[:2])
    if len(pitches) > 2:
        names += f" and {len(pitches) - 2} more"
    best = _ways(part, pitches[0], p)
    if severity is Severity.IMPOSSIBLE:
        why = explain_no_harmonic(
            part.instrument, pitches[0], middle_c_octave=part.session.middle_c_octave
        )
        # Only the reason: what to write instead is the suggestion's.
        reason = (why or "No partial is near enough in tune").partition(". ")[0].rstrip(".")
        message = f"No harmonic sounds at {names}. {reason}."
        suggestion = (
            f"Move the note to {_nearest(part, pitches[0], p)}, play it as an ordinary note senza"
            " vibrato, or check whether the patch sounds an octave off."
        )
    else:
        message = f"The harmonic {names} speaks badly at best. {best[0].reason}"
        suggestion = (
            "Give it to one solo player, move it to a harmonic that speaks, or play it as an"
            " ordinary note senza vibrato."
        )
    return Observation(
        note_indices=tuple(rows),
        message=message,
        suggestion=suggestion,
        evidence=(
            Evidence(
                "ways that speak without trouble",
                sum(way.verdict != "hard" for way in best),
                1,
                "ways",
            ),
        ),
        confidence=float(part.articulation.confidence[rows].min()),
        severity=severity,
    )
