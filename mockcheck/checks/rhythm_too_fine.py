"""Note values finer than anybody reads at the tempo."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import pairwise

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


class RhythmTooFine(Params):
    """Limits of the check."""

    finest_in_quarter: float = quantity(
        12,
        unit="parts of a quarter",
        low=4,
        high=32,
        meaning="finer values than these are looked at: demisemiquavers are 8, in threes 12",
    )
    slow_bpm: float = quantity(
        60,
        unit="quarters a minute",
        low=20,
        high=120,
        meaning="up to this tempo a 64th is a value that is read",
        source="64th notes only in slow tempo (common practice, no source)",
    )
    most_in_run: float = quantity(
        6,
        unit="notes",
        low=2,
        high=32,
        meaning="more notes than these in the beat are a run, which other checks look at",
    )


@check(
    id="rhythm-too-fine",
    family="reading",
    severity=Severity.AWKWARD,
    title="A note or a rest is shorter than anybody reads at the tempo.",
    params=RhythmTooFine,
    needs_strings=False,
)
def find(part: PlayedPart, p: RhythmTooFine) -> Iterator[Observation]:
    """Find what a sequencer leaves behind: notes a 64th or less after the beat, or after another.

    Why a player minds: a 64th rest before a note looks like something meant, and stops the eye;
    what was meant is nearly always the beat.
    Measured: in beats of a few notes, the smallest distance between two places, or between a place
    and the beat, as written. Only in files on a grid: what was played by hand is not taken at its
    word that finely.
    Fine when: the tempo is slow and the ornament is meant in full; or it is a grace note, which is
    better printed as one.
    Source: values below a 32nd are residue of the sequencer at moderate tempo; 64ths only in slow
    tempo (common practice, no source).
    """
    written = part.written
    if written is None or not written.is_quantised:
        return
    fine = [beat for beat in written_beats(part, written) if _is_too_fine(beat, p)]
    fine = [beat for beat in fine if not is_ornament(part, beat.note_indices)]
    for row in neighbours(fine, apart=8):
        worst = min(row, key=_finest)
        parts = round(float(1 / _finest(worst)), 1)
        bpm = round(60 * worst.quarters / worst.seconds)
        yield Observation(
            note_indices=notes_of(row),
            message=(
                f"The rhythm needs values of which {parts:.0f} make a quarter, at quarter = {bpm}:"
                " nobody reads that, and it was hardly meant."
            ),
            suggestion=(
                "Move the notes to the semiquaver or the triplet nearest to them, or print a note"
                " just before another as a grace note."
            ),
            evidence=(
                Evidence("values in a quarter", parts, p.finest_in_quarter, "parts"),
                Evidence("tempo", bpm, p.slow_bpm, "quarters/min"),
            ),
            confidence=rhythm_confidence(written),
        )


def _finest(beat: WrittenBeat) -> Fraction:
    """Smallest distance in quarters between two places, and to the beat on either side."""
    places = sorted({Fraction(0), *beat.places, Fraction(1)})
    least = min(after - before for before, after in pairwise(places))
    return least * Fraction(beat.quarters).limit_denominator(64)


def _is_too_fine(beat: WrittenBeat, p: RhythmTooFine) -> bool:
    if len(beat.places) > p.most_in_run or 60 * beat.quarters / beat.seconds <= p.slow_bpm:
        return False
    # Places lie on the division of the beat, so they are no nearer to each other than that.
    if beat.division <= int(p.finest_in_quarter) * beat.quarters:
        return False
    return _finest(beat) < Fraction(1, int(p.finest_in_quarter))
