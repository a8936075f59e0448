"""What a teacher has to look at before the points are handed out."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from mockcheck.grade.points import Grade
from mockcheck.grade.reference import ReferenceReport
from mockcheck.grade.submission import Piece
from mockcheck.model.finding import Outcome
from mockcheck.model.words import count_of, place_words, printable

_UNSURE_BELOW = 0.5
_LITTLE_IN_COMMON = 0.3


def notes_for_teacher(
    grade: Grade, reference: ReferenceReport | None, broken: Sequence[str]
) -> tuple[str, ...]:
    """Sentences, each about this student alone; they stand on the student's page too."""
    return (
        *(f"{printable(file)} could not be read and is not in the points." for file in broken),
        *_doubtful(grade),
        *(
            f"{row.wanted}: not judged, {row.verdict.found}."
            for row in (*grade.requirements, *grade.bonuses)
            if row.is_open
        ),
        *(line for piece in grade.submission.pieces for line in _about_piece(piece, grade)),
        *_about_reference(reference),
    )


def _doubtful(grade: Grade) -> Iterator[str]:
    for charge in grade.charges:
        if charge.is_doubtful:
            finding = charge.mark.finding
            where = place_words(finding.start, finding.end)
            yield (
                f"{printable(finding.part)}, {where}: {finding.check} rests on a guess"
                f" (confidence {finding.confidence:.2f}) and costs less for it."
            )


def _about_piece(piece: Piece, grade: Grade) -> Iterator[str]:
    several = len(grade.submission.pieces) > 1
    file = f"{printable(piece.name)}: " if several else ""
    for track in piece.record.tracks:
        if track.left_out is None and track.confidence < _UNSURE_BELOW:
            yield (
                f"{file}The track '{printable(track.name)}' was taken for"
                f" {track.instrument or 'no instrument'} on a guess."
            )
    crashed = sorted({o.check for o in piece.record.outcomes if o.outcome is Outcome.CRASHED})
    for check in crashed:
        yield f"{file}The check {check} failed and counts for nothing."
    if piece.record.warnings:
        number = count_of(len(piece.record.warnings), "warning")
        first = printable(piece.record.warnings[0].message)
        yield f"{file}The file was read with {number}; the first: {first}"


def _about_reference(report: ReferenceReport | None) -> Iterator[str]:
    if report is not None and report.same < _LITTLE_IN_COMMON * report.notes:
        yield "The piece has little in common with the model; is it the right file?"
