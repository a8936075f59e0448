"""One short note repeated again and again without any difference."""

from __future__ import annotations

from collections.abc import Iterator

from mockcheck.checks._registry import check
from mockcheck.infer.repetition import Repetition, identical_repetitions
from mockcheck.infer.shaping import loudness_range
from mockcheck.model.finding import Evidence, Observation, Severity
from mockcheck.model.played import PlayedPart
from mockcheck.params import Params, quantity


class IdenticalRepeatedNotes(Params):
    """Limits of the check."""

    least_in_a_row: float = quantity(
        8,
        unit="notes in a row",
        low=3,
        high=100,
        meaning="fewer are over before they are heard as a machine",
        source="measured: where 14 published quartets were played by hand, never more than 3; in 13"
        " real files as exported never more than 4",
    )
    changing_from: float = quantity(
        8,
        unit="steps of 127",
        low=0,
        high=64,
        meaning="a part whose loudness moves by less from beginning to end is said to never change,"
        " once for the file, and not again here",
    )
    confidence: float = quantity(
        0.8,
        unit="confidence",
        low=0,
        high=1,
        meaning="an instrument may vary repeated notes by itself, which the file does not show",
    )


@check(
    id="identical-repeated-notes",
    family="realism",
    severity=Severity.REMARK,
    title="A short note is repeated without any difference.",
    params=IdenticalRepeatedNotes,
    needs_strings=False,
)
def find(part: PlayedPart, p: IdenticalRepeatedNotes) -> Iterator[Observation]:
    """Find repeated notes that are copies of each other.

    Why a player minds: no two strokes of a bow are alike, up-bow and down-bow least of all; copies
    are heard as a machine gun, and what the mock-up promises is not what a section sounds like.
    Measured: notes in a row, up to half a second apart, of the same pitch, velocity, length and
    distance, to two milliseconds. Reported once for a part, at its longest row.
    Fine when: the file is a plain export of a notation program, or the instrument itself varies
    repeated notes.
    Source: common practice, no source; the number in a row is measured, see the parameters.
    """
    if loudness_range(part) < p.changing_from:
        return
    rows = list(identical_repetitions(part, round(p.least_in_a_row)))
    if rows:
        yield _observe(part, rows, p)


def _observe(part: PlayedPart, rows: list[Repetition], p: IdenticalRepeatedNotes) -> Observation:
    longest = max(rows, key=lambda row: len(row.first_notes))
    count = len(longest.first_notes)
    pitch = part.pitch_name(int(part.notes.pitch[longest.first_notes[0]]))
    total = sum(len(row.first_notes) for row in rows)
    others = f", the longest of {len(rows)} such rows with {total} notes" if len(rows) > 1 else ""
    return Observation(
        note_indices=longest.first_notes,
        message=(
            f"{pitch} is repeated {count} times, every {1000 * longest.gap_s:.0f} ms, with one"
            f" length and one velocity{others}; no two strokes of a bow are alike."
        ),
        suggestion=(
            "Play the row in by hand, or lean on the beats and vary velocity and length a little"
            " from stroke to stroke."
        ),
        evidence=(
            Evidence("identical notes in a row", count, p.least_in_a_row, "notes"),
            Evidence("identical notes in all", total, p.least_in_a_row, "notes"),
        ),
        confidence=p.confidence,
    )
