"""Notes under the lowest open string."""

from __future__ import annotations

from collections.abc import Iterator

from mockcheck.checks._registry import check
from mockcheck.model.columns import stretches
from mockcheck.model.finding import Evidence, Observation, Severity
from mockcheck.model.played import PlayedPart
from mockcheck.params import Params, quantity


class NoteBelowOpenString(Params):
    """Limits of the check."""

    tuning_down_semitones: float = quantity(
        0,
        unit="semitones",
        low=0,
        high=12,
        meaning="how far the lowest string is tuned down for this piece",
    )
    wrong_part_share: float = quantity(
        0.3,
        unit="share of the part's notes",
        low=0,
        high=1,
        meaning="from this share on, the part is probably meant for another instrument",
    )


@check(
    id="note-below-open-string",
    family="range",
    severity=Severity.IMPOSSIBLE,
    title="A note lies below the lowest open string.",
    params=NoteBelowOpenString,
    needs_strings=False,
)
def find(part: PlayedPart, p: NoteBelowOpenString) -> Iterator[Observation]:
    """Find notes that no string of the instrument can sound.

    Why a player minds: a string cannot sound lower than it is tuned; the note is simply missing.
    Measured: sounding pitch of each note against the lowest open string, in semitones; notes that
    follow each other are reported together. Impossible, because no technique helps. A double bass
    part that a fifth string or an extension would reach is only risky: some players have one.
    Fine when: the string is tuned down for the piece; set tuning_down_semitones, and allow half a
    minute for retuning.
    Source: tunings of the instrument data of the music21 package, version 10.5.1.
    """
    notes = part.notes
    limit = part.instrument.lowest - p.tuning_down_semitones
    is_low = notes.pitch < limit
    share = float(is_low.mean()) if len(notes) else 0.0
    for first, after in stretches(is_low):
        lowest = int(notes.pitch[first:after].min())
        missing = part.instrument.lowest - lowest
        name, open_string = part.pitch_name(lowest), part.pitch_name(part.instrument.lowest)
        how_many = "A note lies" if after - first == 1 else f"{after - first} notes lie"
        message = (
            f"{how_many} below the lowest open string: {name}, the {part.instrument.id} ends at"
            f" {open_string}."
        )
        severity = Severity.IMPOSSIBLE
        suggestion = (
            f"Raise it an octave, give it to an instrument that has {name}, or let the line rest."
        )
        if part.instrument.id == "double bass" and lowest >= part.instrument.lowest - 5:
            severity = Severity.RISKY
            suggestion = (
                f"Ask the contractor for basses that reach {name} (fifth string or extension),"
                " or raise it an octave."
            )
        if share > p.wrong_part_share:
            message += f" So do {share:.0%} of the part's notes."
            suggestion = (
                "Check the octave of the track and which instrument it is for (the brief can name"
                " it); then raise what is left, or give it to a lower instrument."
            )
        yield Observation(
            note_indices=tuple(range(first, after)),
            message=message,
            suggestion=suggestion,
            evidence=(Evidence("semitones below the open string", missing, 0, "semitones"),),
            severity=severity,
        )
