"""More lines than players to play them, or more notes held than their bows sustain."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from mockcheck.checks._registry import check
from mockcheck.infer.chords import is_written_out_harmonic
from mockcheck.model.finding import Evidence, Observation, Severity
from mockcheck.model.played import PartLines, PlayedPart
from mockcheck.params import Params, quantity
from mockcheck.playing.chords import chord

_NOTES_TO_A_BOW = 2
_NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight")


class MoreVoicesThanPlayers(Params):
    """Limits of the check."""

    least_lines_s: float = quantity(
        2,
        unit="s",
        low=0,
        high=60,
        meaning="lines that sound together for less are taken as double stops",
    )
    least_held_s: float = quantity(
        1.5,
        unit="s",
        low=0.1,
        high=60,
        meaning="notes that are held together for less may be meant broken",
    )
    same_passage_s: float = quantity(
        4, unit="s", low=0, high=60, meaning="places closer together are reported together"
    )


@check(
    id="more-voices-than-players",
    family="realism",
    severity=Severity.AWKWARD,
    title="More voices sound than the part has players.",
    params=MoreVoicesThanPlayers,
)
def find(part: PlayedPart, p: MoreVoicesThanPlayers) -> Iterator[Observation]:
    """Find more independent lines than the stated players, and more held notes than their bows.

    Why a player minds: a line has a bow and a phrasing of its own; whoever has to play two of them
    plays double stops throughout, and a third note can only be touched.
    Measured: the lines that all tracks of the part divide into, where they are not meant as
    double stops, against the players of the brief; and notes that are held together, two to a bow.
    Awkward: it can be played, but does not sound as it does here. What one hand cannot hold at all
    is left to the checks of chords.
    Fine when: a soloist's polyphony is written for the instrument, or more players are booked
    than the brief says.
    Source: a bow sustains two neighbouring strings (physics of bow and bridge); what tells lines
    from double stops is measured on open string quartets.
    """
    if part.lines is None:
        return
    moments = list(_crowded(part, part.lines))
    for lines in _passages([m for m in moments if m.is_divided], p.same_passage_s):
        lasts_s = sum(moment.lasts_s for moment in lines)
        if lasts_s >= p.least_lines_s:
            yield _observe_lines(part, lines, lasts_s)
    held = [
        moment
        for moment in moments
        if not moment.is_divided
        and len(moment.notes) > _NOTES_TO_A_BOW * part.players
        and moment.held_s > p.least_held_s
    ]
    for chords in _passages(held, p.same_passage_s):
        yield _observe_held(part, chords, p)


@dataclass(frozen=True)
class _Moment:
    """More notes than players; how long nothing changes, and how long all of them are held, s."""

    notes: tuple[int, ...]
    onset_s: float
    lasts_s: float
    held_s: float
    is_divided: bool
    confidence: float


def _crowded(part: PlayedPart, lines: PartLines) -> Iterator[_Moment]:
    """Moments with more notes than players that one hand could hold all the same."""
    is_divided = lines.is_any("divisi")
    sonorities, notes = part.sonorities, part.notes
    rows = np.flatnonzero(np.diff(sonorities.first) > part.players)
    onset_s = np.maximum.reduceat(notes.onset_s[sonorities.members], sonorities.first[:-1])
    for row in rows.tolist():
        own = sonorities.notes_at(row)
        pitches = tuple(notes.pitch[own].tolist())
        if is_written_out_harmonic(pitches) or not chord(part.instrument, pitches).is_playable:
            continue
        end_s = float(notes.release_s[own].min())
        until_s = min(end_s, float(onset_s[row + 1])) if row + 1 < len(onset_s) else end_s
        newest = own[np.argmax(notes.onset_s[own])]
        yield _Moment(
            notes=tuple(own.tolist()),
            onset_s=float(onset_s[row]),
            lasts_s=max(until_s - float(onset_s[row]), 0.0),
            held_s=end_s - float(onset_s[row]),
            is_divided=bool(is_divided[newest]),
            confidence=float(lines.confidence[newest]),
        )


def _passages(moments: list[_Moment], gap_s: float) -> Iterator[list[_Moment]]:
    """Moments that follow each other closely."""
    cuts = [
        place
        for place, (one, two) in enumerate(pairwise(moments), start=1)
        if two.onset_s - one.onset_s - one.lasts_s > gap_s
    ]
    for first, after in pairwise([0, *cuts, len(moments)]):
        if after > first:
            yield moments[first:after]


def _rows(moments: list[_Moment]) -> tuple[int, ...]:
    return tuple(sorted({note for moment in moments for note in moment.notes}))


def _players(part: PlayedPart) -> str:
    return "one player" if part.players == 1 else f"{part.players} players"


def _observe_lines(part: PlayedPart, lines: list[_Moment], lasts_s: float) -> Observation:
    most = max(len(moment.notes) for moment in lines)
    return Observation(
        note_indices=_rows(lines),
        message=(
            f"{_number(most).capitalize()} lines move on their own for {lasts_s:.1f} s, and the"
            f" part has {_players(part)}, who would play double stops throughout."
        ),
        suggestion=(
            "Give a line to another part, let one of them rest, or say in the brief how many"
            " players there are."
        ),
        evidence=(Evidence("lines at once", most, part.players, "players"),),
        confidence=min(moment.confidence for moment in lines),
    )


def _observe_held(part: PlayedPart, chords: list[_Moment], p: MoreVoicesThanPlayers) -> Observation:
    longest = max(chords, key=lambda moment: moment.held_s)
    count, most = len(longest.notes), _NOTES_TO_A_BOW * part.players
    more = f" There are {len(chords)} such chords here." if len(chords) > 1 else ""
    return Observation(
        note_indices=_rows(chords),
        message=(
            f"{_number(count).capitalize()} notes are held for {longest.held_s:.1f} s by"
            f" {_players(part)}; a bow sustains two, the others are only touched.{more}"
        ),
        suggestion=(
            "Let two notes go on and the others be grace notes to them, break the chord, or give"
            " a note to another part."
        ),
        evidence=(
            Evidence("notes held at once", count, most, "notes"),
            Evidence("held together", round(longest.held_s, 2), p.least_held_s, "s"),
        ),
    )


def _number(count: int) -> str:
    return _NUMBERS[count] if count < len(_NUMBERS) else str(count)
