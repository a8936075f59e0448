"""Who plays each row of the review: the brief first, then the best guess."""

from __future__ import annotations

from mockcheck.model.played import Role
from mockcheck.model.score import Score
from mockcheck.model.session import TrackChoice
from mockcheck.read.part_names import Seat, name_parts
from mockcheck.read.player_guess import guess_players
from mockcheck.read.review_rows import review_rows
from mockcheck.read.track_choices import choices_by_row, follow_choice

_INDEPENDENT_SEQUENCES = 2
"""The SMF format whose tracks have each a time of their own."""


def assign_roles(score: Score, choices: tuple[TrackChoice, ...] = ()) -> tuple[Role, ...]:
    """Every track is somebody's, or is left out for a reason that is told.

    Parameters
    ----------
    score
        The file, read.
    choices
        What the brief says about tracks; a later choice overrules an earlier one.

    Returns
    -------
    One role for each row of the track list, in the order of the tracks. Rows of one part are the
    same players.

    Raises
    ------
    BadBrief
        A choice fits no row, or names an instrument or a stroke that does not exist.
    """
    rows = review_rows(score)
    chosen = choices_by_row(rows, choices)
    guesses = [
        follow_choice(row, guess, choice)
        for row, guess, choice in zip(rows, guess_players(rows), chosen, strict=True)
    ]
    seats = {
        row.index: Seat(
            instrument=guess.instrument,
            name=guess.name,
            is_solo=guess.is_solo,
            notes=row.notes,
            timeline=row.track.index if score.smf_format == _INDEPENDENT_SEQUENCES else 0,
            fixed_part=choice.part,
        )
        for row, guess, choice in zip(rows, guesses, chosen, strict=True)
        if guess.instrument is not None
    }
    parts = name_parts(seats)
    return tuple(
        Role(
            index=row.index,
            track_index=row.track.index,
            channels=row.channels,
            name=row.name,
            instrument=guess.instrument,
            part=parts.get(row.index, ""),
            is_solo=guess.is_solo,
            articulation=guess.name.articulation if guess.instrument is not None else None,
            confidence=guess.confidence,
            evidence=guess.evidence,
            left_out=guess.left_out,
        )
        for row, guess in zip(rows, guesses, strict=True)
    )
