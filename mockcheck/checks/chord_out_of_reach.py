"""Chords wider than a hand."""

from __future__ import annotations

from collections.abc import Iterator

from mockcheck.checks._levels import severity_when_shared
from mockcheck.checks._registry import check
from mockcheck.infer.chords import ChordPassage, chord_passages, division_of
from mockcheck.model.finding import Evidence, Observation, Severity
from mockcheck.model.played import PlayedPart
from mockcheck.model.session import Level
from mockcheck.params import Params

_HARD = {
    Level.SIGHT: Severity.AWKWARD,
    Level.REHEARSED: Severity.REMARK,
    Level.SOLO: None,
}
"""What a chord that good players manage is worth at each level."""


class ChordOutOfReach(Params):
    """The reaches are declared with the hand, in mm, and shown as evidence."""


@check(
    id="chord-out-of-reach",
    family="chords",
    severity=Severity.IMPOSSIBLE,
    title="A chord asks for a wider hand than players have.",
    params=ChordOutOfReach,
)
def find(part: PlayedPart, p: ChordOutOfReach) -> Iterator[Observation]:  # noqa: ARG001  # the same shape for every check
    """Find chords whose fingers would stand too far apart.

    Why a player minds: the hand opens only so far; near that limit the chord is out of tune, and
    repeating it strains the hand. What strains is for the player to say.
    Measured: the distance between stopped fingers in mm, over all strings and fingers. Beyond the
    widest hand it is impossible for one player (risky where two can share it); what good players
    manage with effort is awkward at sight and a remark when rehearsed.
    Fine when: the notes are divided, or the part is a soloist's who has practised.
    Source: spans of 26,066 printed double stops (116 open string quartet scores), Widor, The
    Technique of the Modern Orchestra (1906) p. 177, and a fingering chart for composers.
    """
    hard = _HARD[part.session.level]
    for passage in chord_passages(part, lambda answer, _: answer.cause == "chord-out-of-reach"):
        yield _observe(part, passage, severity_when_shared(part, 2))
    if hard is not None:
        for passage in chord_passages(part, lambda answer, _: answer.verdict == "hard"):
            yield _observe(part, passage, hard)


def _observe(part: PlayedPart, passage: ChordPassage, severity: Severity) -> Observation:
    worst = passage.worst
    names = ", ".join(part.pitch_name(pitch) for pitch in worst.pitches)
    more = f" There are {passage.chords} such chords here." if passage.chords > 1 else ""
    division = division_of(part, worst)
    suggestion = "Leave out a note or put it in another octave; ask the player before repeating it."
    if division is not None and division.is_enough and part.players > 1:
        suggestion = division.suggestion
    return Observation(
        note_indices=passage.note_indices,
        message=f"{names}: {worst.reason}{more}",
        suggestion=suggestion,
        evidence=(worst.evidence or Evidence("stretch", round(worst.stretch_mm, 1), 0, "mm"),),
        severity=severity,
    )
