"""What the brief says about tracks, found for each row and put in place of the guess."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from mockcheck.errors import BadBrief
from mockcheck.instruments import instrument_ids, vocabulary
from mockcheck.model.played import ARTICULATIONS
from mockcheck.model.session import TrackChoice
from mockcheck.read.note_profile import note_profile
from mockcheck.read.player_guess import MOST_FROM_NOTES, PlayerGuess
from mockcheck.read.review_rows import ReviewRow
from mockcheck.read.track_names import ENSEMBLE, TrackName, read_name

_FROM_BRIEF = "named in the brief"


def choices_by_row(
    rows: Sequence[ReviewRow], choices: Sequence[TrackChoice]
) -> tuple[TrackChoice, ...]:
    """What the brief says about each row, put together from all that matches it.

    Parameters
    ----------
    rows
        The rows of the track list.
    choices
        In the order of the brief; what a later one says overrules an earlier one.

    Raises
    ------
    BadBrief
        With every choice that matches no row, or names what does not exist. A choice that many
        files share may match none here.
    """
    hits = [[row.index for row in rows if choice.is_for(row.name, row.index)] for choice in choices]
    faults = [fault for choice in choices for fault in _unknown_names(choice)]
    faults += [
        f"no track matches '{choice.match}'"
        for choice, rows_hit in zip(choices, hits, strict=True)
        if not rows_hit and not choice.is_shared
    ]
    if faults:
        names = ", ".join(f"{row.index} '{row.name}'" for row in rows)
        message = (
            f"brief, tracks: {'; '.join(faults)}. The file has the tracks {names}. Match one by"
            " its name, by a pattern such as 'Vln*' or by its number."
        )
        raise BadBrief(message)
    merged = [TrackChoice(row.name) for row in rows]
    for choice, rows_hit in zip(choices, hits, strict=True):
        said = {field: value for field, value in vars(choice).items() if value is not None}
        for index in rows_hit:
            merged[index] = replace(merged[index], **said)
    return tuple(merged)


def follow_choice(row: ReviewRow, guess: PlayerGuess, choice: TrackChoice) -> PlayerGuess:
    """Whoever the brief names plays; what it does not say stays as guessed.

    A row without notes stays left out whatever the brief says.
    """
    if len(row.notes) == 0:
        return guess
    if choice.leave_out:
        reason = "the brief leaves it out"
        return replace(
            guess, instrument=None, confidence=1.0, evidence=_FROM_BRIEF, left_out=reason
        )
    if choice.articulation is not None:
        stroke = _as_written(choice.articulation, ARTICULATIONS)
        guess = replace(guess, name=replace(guess.name, articulation=stroke, manner=stroke or ""))
    who = _chosen_instrument(guess, choice)
    if who is not None:
        name = _name_for(guess.name, who)
        guess = PlayerGuess(who, name, guess.is_solo, confidence=1.0, evidence=_FROM_BRIEF)
    elif guess.instrument is None and (choice.leave_out is False or choice.part is not None):
        guess = _kept_in(row, guess)
    if choice.part is not None:
        guess = replace(guess, is_solo=read_name(choice.part).is_solo)
    return guess


def _unknown_names(choice: TrackChoice) -> list[str]:
    return [
        f"'{choice.match}' has the {kind} '{name}', which does not exist; the {kind}s are"
        f" {', '.join(allowed)}"
        for kind, name, allowed in (
            ("instrument", choice.instrument, instrument_ids()),
            ("articulation", choice.articulation, ARTICULATIONS),
        )
        if name is not None and _as_written(name, allowed) is None
    ]


def _as_written(name: str, allowed: Sequence[str]) -> str | None:
    wanted = " ".join(name.split()).casefold()
    return next((known for known in allowed if known.casefold() == wanted), None)


def _chosen_instrument(guess: PlayerGuess, choice: TrackChoice) -> str | None:
    """The instrument the brief names, if need be within the part's name; None if it does not."""
    if choice.instrument is not None:
        return _as_written(choice.instrument, instrument_ids())
    named = read_name(choice.part).instrument if choice.part is not None else None
    if named is None or guess.instrument is None:
        return named
    # 'Double Bass' is no word against a fifth string, nor 'Strings 1' against violins.
    is_said_closer = named in (ENSEMBLE, vocabulary().namings[guess.instrument].variant_of)
    return guess.instrument if is_said_closer else named


def _name_for(name: TrackName, who: str) -> TrackName:
    """The name without the section and desk of another instrument."""
    namings = vocabulary().namings
    kinds = {namings[one].variant_of or one for one in (who, name.instrument or who)}
    return name if len(kinds) == 1 else replace(name, section=None, desk="")


def _kept_in(row: ReviewRow, guess: PlayerGuess) -> PlayerGuess:
    who, clearness = note_profile(row.notes).likeliest()
    return PlayerGuess(
        who,
        guess.name,
        guess.is_solo,
        confidence=round(MOST_FROM_NOTES * clearness, 2),
        evidence=f"the brief keeps it in, and only the range says {who}",
    )
