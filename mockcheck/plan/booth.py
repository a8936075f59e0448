"""The booth list: what the players hear, how many headphones that takes, and who divides where."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from mockcheck.infer.choices import choice_for
from mockcheck.infer.chords import division_of
from mockcheck.model.finding import Finding
from mockcheck.model.played import PlayedPart, PlayedScore, Role
from mockcheck.model.review import Review
from mockcheck.model.time import Location
from mockcheck.params import Params, quantity
from mockcheck.playing.chords import chord
from mockcheck.playing.division import Division
from mockcheck.read.track_names import read_name

_TO_DIVIDE = ("chord-needs-divisi", "chord-out-of-reach", "double-stop-on-one-string")
"""The checks whose cure is to divide."""
_CLICK = "click track"


class BoothParams(Params):
    """What a studio is asked for."""

    own_headphones_percent: float = quantity(
        25,
        unit="percent of the players",
        low=0,
        high=100,
        meaning="players who bring headphones of their own",
        source="common practice, no source: about a quarter of the players",
    )
    players_to_a_desk: int = quantity(
        2,
        unit="players",
        low=1,
        high=4,
        meaning="players who read from one stand",
        source="common practice of string sections, in textbooks of orchestration",
    )


BOOTH = BoothParams()


@dataclass(frozen=True)
class PreRecord:
    """A track that stays in the mix and that the players tune to.

    Parameters
    ----------
    name
        As the track list shows it.
    reason
        Why it is taken to stay.
    is_said
        Whether the brief says so; otherwise it is taken to stay since nobody plays it.
    """

    name: str
    reason: str
    is_said: bool


@dataclass(frozen=True)
class Seats:
    """One part: who is booked, and how many its divided places need.

    Parameters
    ----------
    players
        Players of the part; 0 where the brief books none for its section.
    desks
        Stands that they read from.
    lines
        Most lines that the part divides into at once; 1 where it never does.
    needed
        Players without whom the fullest place cannot be played at all: one to a line, fewer only
        where a chord can be shared out in double stops.
    place
        Where that place is; None where the part never divides.
    """

    part: str
    players: int
    desks: int
    lines: int
    needed: int
    place: Location | None

    @property
    def short_by(self) -> int:
        """Players to add, or lines to leave out."""
        return max(self.needed - self.players, 0)


@dataclass(frozen=True)
class Booth:
    """Everything that has to be ready before the players sit down.

    Parameters
    ----------
    pre_records
        What they must hear, in the order of the track list.
    replaced
        Names of left-out tracks that the brief says do not stay: nobody need hear them.
    silent
        Names of tracks that the brief says stay, but that hold no notes.
    clicks
        Names of tracks that are a click themselves.
    seats
        One for each part that plays.
    not_divided
        Names of parts that stand for a whole body of strings, whose divisi nobody knows.
    own_headphones, headphones
        Pairs that players bring, and pairs to provide.
    are_sizes_said
        Whether the brief says how many play every part.
    """

    pre_records: tuple[PreRecord, ...]
    replaced: tuple[str, ...]
    silent: tuple[str, ...]
    clicks: tuple[str, ...]
    seats: tuple[Seats, ...]
    not_divided: tuple[str, ...]
    own_headphones: int
    headphones: int
    are_sizes_said: bool

    @property
    def players(self) -> int:
        """Everybody who plays, and wears headphones."""
        return sum(seats.players for seats in self.seats)


def booth(review: Review) -> Booth:
    """What stays must be heard by the players to tune to it; what they replace need not be.

    Returns
    -------
    Pre-records are the tracks that nobody plays, and those that the brief says stay (`stays`);
    headphones are one pair a player, less those that players bring, rounded to the safe side.

    Source: common practice, no source.
    Not modelled: spare pairs, the conductor's pair, and how loud a click is in them.
    """
    played = review.played
    heard = [_heard(played, role) for role in played.roles]
    parts = [part for part in played.parts if len(part.notes)]
    seats = tuple(_seats(review, part) for part in parts)
    players = sum(seat.players for seat in seats)
    own = int(players * BOOTH.own_headphones_percent / 100)

    def names(kind: str) -> tuple[str, ...]:
        rows = zip(played.roles, heard, strict=True)
        return tuple(role.name for role, what in rows if what == kind)

    return Booth(
        pre_records=tuple(what for what in heard if isinstance(what, PreRecord)),
        replaced=names("replaced"),
        silent=names("silent"),
        clicks=names("click"),
        seats=seats,
        not_divided=tuple(part.name for part in parts if part.instrument.is_ensemble),
        own_headphones=own,
        headphones=players - own,
        are_sizes_said=all(_is_size_said(played, part) for part in parts),
    )


def _heard(played: PlayedScore, role: Role) -> PreRecord | str:
    """A pre-record, or 'played', 'replaced', 'click', 'silent' or 'empty'."""
    stays = choice_for(role, played.session.tracks).stays
    notes = played.score.tracks[role.track_index].notes
    if not np.isin(notes.channel, role.channels).any():
        return "silent" if stays else "empty"
    if stays:
        return PreRecord(role.name, "the brief says it stays", is_said=True)
    if role.left_out is None:
        return "played"
    if stays is False:
        return "replaced"
    # The name still tells when the brief has left the track out.
    if read_name(role.name).other == _CLICK:
        return "click"
    return PreRecord(role.name, role.left_out, is_said=False)


def _is_size_said(played: PlayedScore, part: PlayedPart) -> bool:
    session = played.session
    if part.name in session.players or session.sections is not None:
        return True
    choices = (choice_for(role, session.tracks) for role in part.roles)
    return any(choice.players is not None for choice in choices)


def _seats(review: Review, part: PlayedPart) -> Seats:
    needs = [*_divisi(part), *_shared_chords(review, part)]
    # The fullest place, and of several the first.
    needed, lines, tick = max(needs, key=lambda need: (*need[:2], -need[2]), default=(1, 1, -1))
    players = 0 if _is_unbooked(review.played, part) else part.players
    return Seats(
        part=part.name,
        players=players,
        desks=-(-players // BOOTH.players_to_a_desk),
        lines=lines,
        needed=needed,
        place=part.locate_onset(tick) if tick >= 0 else None,
    )


def _is_unbooked(played: PlayedScore, part: PlayedPart) -> bool:
    """The brief gives the section no players, and the part none of its own."""
    sizes = played.session.sections
    if sizes is None or part.instrument.is_ensemble or part.name in played.session.players:
        return False
    choices = (choice_for(role, played.session.tracks) for role in part.roles)
    if any(choice.players is not None for choice in choices) or part.roles[0].is_solo:
        return False
    is_second = (read_name(part.name).section or 1) > 1
    return sizes.of(part.instrument.id, is_second=is_second) == 0


def _divisi(part: PlayedPart) -> Iterator[tuple[int, int, int]]:
    """Players needed, lines, and tick of each moment that is meant for several players."""
    if part.lines is None or part.instrument.is_ensemble:
        return
    is_divided = part.lines.is_any("divisi")
    for row in np.flatnonzero(np.diff(part.sonorities.first) > 1).tolist():
        notes = part.sonorities.notes_at(row)
        if is_divided[notes].all():
            lines = len(np.unique(part.lines.line[notes]))
            yield lines, lines, int(part.notes.onset_ticks[notes].max())


def _shared_chords(review: Review, part: PlayedPart) -> Iterator[tuple[int, int, int]]:
    """The same of the chords that findings say one player cannot play."""
    own = [f for f in review.findings if f.part == part.name and f.check in _TO_DIVIDE]
    if not own:
        return
    newest = part.notes.onset_ticks[part.sonorities.members]
    onset_ticks = np.maximum.reduceat(newest, part.sonorities.first[:-1])
    for finding in own:
        if finding.accepted is not None:
            continue
        rows = np.searchsorted(onset_ticks, [finding.start.tick, finding.end.tick])
        for row in range(*rows.tolist()):
            division = _division(part, row, finding)
            if division is not None:
                yield division.fewest_lines, len(division.lines), int(onset_ticks[row])


def _division(part: PlayedPart, row: int, finding: Finding) -> Division | None:
    """How one moment of a finding is shared out; None where one player can play it."""
    notes = part.sonorities.notes_at(row)
    pitches = sorted(set(part.notes.pitch[notes].tolist()) & set(finding.pitches))
    if len(pitches) < 2:
        return None
    answer = chord(part.instrument, pitches, middle_c_octave=part.session.middle_c_octave)
    return None if answer.is_playable else division_of(part, answer)
