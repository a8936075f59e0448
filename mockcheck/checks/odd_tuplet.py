"""Beats cut into a number of parts that nobody counts at sight."""

from __future__ import annotations

from collections.abc import Iterator

from mockcheck.checks._registry import check
from mockcheck.checks._written import (
    WrittenBeat,
    is_ornament,
    neighbours,
    notes_of,
    rhythm_confidence,
    written_beats,
)
from mockcheck.model.finding import Evidence, Observation, Severity
from mockcheck.model.played import PlayedPart
from mockcheck.params import Params, quantity

_READ_AS_RUNS = (5, 7)
_PLAIN_GROUPS = (16, 12, 8, 6, 4, 3)


class OddTuplet(Params):
    """Limits of the check."""

    least_notes: float = quantity(
        4,
        unit="onsets in a beat",
        low=3,
        high=16,
        meaning="fewer are a place in the beat, not a group",
    )
    largest_read: float = quantity(
        16,
        unit="notes in a quarter",
        low=6,
        high=32,
        meaning="no group with more notes is counted at sight, whatever its number",
        source="groups in 195,807 notes of published quartets: triplets, 6, 12, and 5 and 7 rarely",
    )
    fastest_read: float = quantity(
        12,
        unit="notes/s",
        low=4,
        high=20,
        meaning="groups faster than this are not offered to a section at sight",
        source="runs above 10 notes a second are texture, not melody, from memory",
    )
    fastest_played: float = quantity(
        14.5,
        unit="notes/s",
        low=4,
        high=30,
        meaning="groups faster than this are not offered to players who know the passage either",
        source="fastest sustained runs in recorded caprices, 14.5 a second (99th percentile)",
    )
    fast_odd: float = quantity(
        6,
        unit="notes/s",
        low=2,
        high=20,
        meaning="slower groups of five and seven are counted, and are fine",
    )


@check(
    id="odd-tuplet",
    family="reading",
    severity=Severity.AWKWARD,
    title="A beat is cut into a number of notes that nobody reads at sight.",
    params=OddTuplet,
    needs_strings=False,
)
def find(part: PlayedPart, p: OddTuplet) -> Iterator[Observation]:
    """Find groups of eleven, thirteen, seventeen ... in a beat, and fast ones of five and seven.

    Why a player minds: twos, threes, fours, sixes and eights are felt; eleven or seventeen must be
    counted, by every player for himself, and the section arrives at as many different times.
    Measured: notes of one line in a beat as they would be written, against numbers made of twos and
    threes up to sixteen in a quarter. Trills and tremolo are left out; five and seven are a remark,
    and only above six notes a second.
    Fine when: it is a slurred run from beat to beat that may be played freely: then print it as a
    run without a number, or as a slide.
    Source: number of notes in groups, counted in published string quartets; five and seven are read
    as runs to a target beat (common practice, no source).
    """
    written = part.written
    if written is None:
        return
    beats = written_beats(part, written)
    odd = [beat for beat in beats if _is_odd(beat, p, written.is_quantised)]
    odd = [beat for beat in odd if not is_ornament(part, beat.note_indices)]
    for row in neighbours(odd):
        most = max(row, key=lambda beat: (not _is_read_as_run(beat), beat.division))
        yield Observation(
            note_indices=notes_of(row),
            message=_message(row, most),
            suggestion=_suggestion(most, p),
            evidence=(
                Evidence("notes in the beat", _count(most), _reads_instead(most, p)[1], "notes"),
                Evidence(
                    "pace of the group",
                    round(_count(most) / most.seconds, 1),
                    p.fastest_read,
                    "notes/s",
                ),
            ),
            confidence=rhythm_confidence(written),
            severity=Severity.REMARK if _is_read_as_run(most) else None,
        )


def _is_full(beat: WrittenBeat) -> bool:
    """All places of the group struck, or all but one that is tied or a rest."""
    return len(beat.places) >= beat.division - 1


def _count(beat: WrittenBeat) -> int:
    return beat.division if _is_full(beat) else len(beat.places)


def _is_read_as_run(beat: WrittenBeat) -> bool:
    return beat.division in _READ_AS_RUNS and _is_full(beat)


def _is_odd(beat: WrittenBeat, p: OddTuplet, is_quantised: bool) -> bool:
    count = len(beat.places)
    if count < p.least_notes:
        return False
    # Notes played by hand hide which fraction was meant; a full beat still shows how many.
    if not is_quantised and not _is_full(beat):
        return False
    if beat.division > p.largest_read * beat.quarters:
        return count > p.largest_read * beat.quarters / 2
    if _is_of_twos_and_threes(beat.division):
        return False
    return not _is_read_as_run(beat) or beat.division / beat.seconds > p.fast_odd


def _is_of_twos_and_threes(number: int) -> bool:
    for factor in (2, 3):
        while number % factor == 0:
            number //= factor
    return number == 1


def _reads_instead(beat: WrittenBeat, p: OddTuplet) -> tuple[int, int]:
    """Largest groups, with no more notes, that fit at the tempo once practised and at sight."""
    most = min(len(beat.places), int(p.largest_read * beat.quarters))
    practised, at_sight = (
        next((g for g in _PLAIN_GROUPS if g <= most and g / beat.seconds <= fastest), 2)
        for fastest in (p.fastest_played, p.fastest_read)
    )
    return practised, at_sight


def _message(row: list[WrittenBeat], most: WrittenBeat) -> str:
    pace = f"{_count(most) / most.seconds:.0f} notes a second"
    times = f" in {len(row)} beats running" if len(row) > 1 else ""
    if _is_read_as_run(most):
        return (
            f"A group of {most.division} in one beat{times}, {pace}: read as a run to the next"
            " beat, not as an exact rhythm."
        )
    if _is_full(most):
        return (
            f"A group of {most.division} in one beat{times}, {pace}: nobody counts that at sight."
        )
    return (
        f"{len(most.places)} notes on {most.division}ths of a beat{times}, at {pace}: the rhythm"
        " can only be printed with a tuplet that nobody reads at sight."
    )


def _suggestion(beat: WrittenBeat, p: OddTuplet) -> str:
    practised, at_sight = _reads_instead(beat, p)
    if practised == at_sight:
        return (
            f"Write {at_sight} in the beat, which fit at this tempo, or a run without a number if"
            " its notes may fall freely."
        )
    return (
        f"Write {at_sight} in the beat for a section at sight at this tempo, {practised} for"
        " players who know it, or a slide between the first note and the last."
    )
