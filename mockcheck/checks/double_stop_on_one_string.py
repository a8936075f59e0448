"""Two notes that need the same string."""

from __future__ import annotations

from collections.abc import Iterator

from mockcheck.checks._levels import severity_when_shared
from mockcheck.checks._registry import check
from mockcheck.infer.chords import chord_passages, division_of
from mockcheck.model.finding import Evidence, Observation, Severity
from mockcheck.model.played import PlayedPart
from mockcheck.params import Params


class DoubleStopOnOneString(Params):
    """No limits: two notes on one string are geometry."""


@check(
    id="double-stop-on-one-string",
    family="chords",
    severity=Severity.IMPOSSIBLE,
    title="Two notes of a double stop need the same string.",
    params=DoubleStopOnOneString,
)
def find(part: PlayedPart, p: DoubleStopOnOneString) -> Iterator[Observation]:  # noqa: ARG001  # the same shape for every check
    """Find double stops that no two neighbouring strings can share out.

    Why a player minds: a string sounds one note at a time; one of the two is left out.
    Measured: every way to give each note a string of its own, from the tuning. Impossible for one
    player; with two or more on the part it is risky, because they share it only if told.
    Fine when: the section is divided: put the lines on tracks of their own, or accept the finding.
    Source: the tuning of the instrument and arithmetic; every such chord of the reference tables
    drawn from printed quartets and treatises is found.
    """
    for passage in chord_passages(
        part, lambda answer, _: answer.cause == "double-stop-on-one-string"
    ):
        strings = len(part.instrument.open_strings)
        more = f" So are {passage.chords - 1} more here." if passage.chords > 1 else ""
        division = division_of(part, passage.worst)
        yield Observation(
            note_indices=passage.note_indices,
            message=f"{passage.worst.reason}{more}",
            suggestion=(
                division.suggestion
                if division is not None and division.is_enough
                else "Move one note by an octave, or leave it out."
            ),
            evidence=(
                passage.worst.evidence
                or Evidence("strings that share the notes", 1, strings, "strings"),
            ),
            severity=severity_when_shared(part, 2),
        )
