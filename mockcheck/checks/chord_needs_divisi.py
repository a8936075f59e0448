"""Chords that one player cannot sound, so that the section has to divide."""

from __future__ import annotations

from collections.abc import Iterator

from mockcheck.checks._levels import severity_when_shared
from mockcheck.checks._registry import check
from mockcheck.infer.chords import ChordPassage, chord_passages, division_of
from mockcheck.model.finding import Evidence, Observation, Severity
from mockcheck.model.played import PlayedPart
from mockcheck.params import Params, quantity


class ChordNeedsDivisi(Params):
    """Limits of the check."""

    held_chord_s: float = quantity(
        1.0,
        unit="s",
        low=0.1,
        high=60,
        meaning="a chord of three or more notes held longer than this cannot be meant broken",
    )


@check(
    id="chord-needs-divisi",
    family="chords",
    severity=Severity.IMPOSSIBLE,
    title="A chord has to be divided: one player cannot sound it.",
    params=ChordNeedsDivisi,
)
def find(part: PlayedPart, p: ChordNeedsDivisi) -> Iterator[Observation]:
    """Find chords with more notes than strings or bow can sound at once.

    Why a player minds: the bow sustains two neighbouring strings, three for a moment, four only
    broken; what does not fit is left out, and each player leaves out something else.
    Measured: an exact search over strings and fingers. Impossible for one player, or for fewer
    players than lines; risky for a section, which shares it only if told who takes what. Three or
    more notes that one hand could break but that are held are awkward in a section.
    Fine when: the lines are on tracks of their own (div.), or the chord is short and meant broken.
    Source: physics of bow and bridge; no printed chord of 54,645 in 116 open string quartet scores
    uses more strings than there are.
    """
    for passage in chord_passages(part, lambda answer, _: answer.cause == "chord-needs-divisi"):
        division = division_of(part, passage.worst)
        fewest = division.fewest_lines if division is not None else len(passage.worst.pitches)
        yield _observe(part, passage, severity_when_shared(part, fewest), passage.worst.reason)
    if part.players == 1:
        return
    for passage in chord_passages(
        part,
        lambda answer, held_s: (
            answer.is_playable and len(answer.pitches) > 2 and held_s > p.held_chord_s
        ),
    ):
        reason = (
            f"{len(passage.worst.pitches)} notes are held for {passage.longest_s:.1f} s; one bow"
            " sustains two, the others are only touched."
        )
        yield _observe(part, passage, Severity.AWKWARD, reason)


def _observe(
    part: PlayedPart, passage: ChordPassage, severity: Severity, reason: str
) -> Observation:
    worst = passage.worst
    division = division_of(part, worst)
    names = ", ".join(part.pitch_name(pitch) for pitch in worst.pitches)
    more = f" There are {passage.chords} such chords here." if passage.chords > 1 else ""
    count = len(worst.pitches)
    suggestion = "Leave out notes, or give some to another part."
    if division is not None:
        suggestion = division.suggestion
    return Observation(
        note_indices=passage.note_indices,
        message=f"{names}: {reason}{more}",
        suggestion=suggestion,
        evidence=(worst.evidence or Evidence("notes at once", count, 2, "notes"),),
        severity=severity,
    )
