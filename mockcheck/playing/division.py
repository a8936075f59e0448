"""How a section shares out a chord that one player cannot, or should not, play alone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from mockcheck.errors import BadBrief
from mockcheck.model.instrument import Instrument
from mockcheck.playing.chords import VERDICTS, Verdict, chord
from mockcheck.units import pitch_name

_PAIRING_WINDOW = 8
"""A note is tried as a double stop with the next eight above it: exact to nine notes."""

_UNEASE = {"easy": 0, "possible": 1, "hard": 10}
"""Weight of one double stop: ten possible ones are rather taken than one hard one."""


@dataclass(frozen=True)
class Line:
    """What one group of a divided section plays: a note, or a double stop low to high."""

    pitches: tuple[int, ...]
    players: int
    verdict: Verdict


@dataclass(frozen=True)
class Division:
    """A chord shared out, highest line first.

    Parameters
    ----------
    lines
        One note each where there are players enough, double stops where there are not.
    fewest_lines
        The least number of players that could do it.
    players
        Players of the part; `lines` need more than this where `is_enough` is False.
    suggestion
        One sentence a composer can act on.
    """

    lines: tuple[Line, ...]
    fewest_lines: int
    players: int
    suggestion: str

    @property
    def is_enough(self) -> bool:
        """Whether the part has a player for every line."""
        return self.players >= len(self.lines)


def divide(
    instrument: Instrument | str,
    pitches: Sequence[int],
    players: int,
    *,
    middle_c_octave: int = 4,
) -> Division | None:
    """A section plays a chord one note to a player while it can, and double stops after that.

    Parameters
    ----------
    pitches
        Sounding MIDI pitches in any order; doubled pitches count once.
    players
        Players of the part, one or more.

    Returns
    -------
    None where a note lies outside the instrument, so that no dividing helps.

    Raises
    ------
    BadBrief
        No players, no pitch, or an instrument without strings of its own.

    Source: common practice, no source (single notes are safer in tune than double stops).
    """
    if players < 1:
        message = f"A part needs at least one player, not {players}."
        raise BadBrief(message)
    notes = tuple(sorted(set(pitches)))
    if not notes or not all(chord(instrument, (note,)).is_playable for note in notes):
        if not notes:
            chord(instrument, notes)
        return None
    pairings = _best_pairings(instrument, notes)
    fewest = len(notes) - (len(pairings) - 1)
    wanted = min(len(notes), max(fewest, players))
    groups = sorted(pairings[len(notes) - wanted][1], key=max, reverse=True)
    share, extra = divmod(players, wanted)
    lines = tuple(
        Line(group, share + (index < extra), chord(instrument, group).verdict)
        for index, group in enumerate(groups)
    )
    return Division(lines, fewest, players, _suggestion(lines, players, middle_c_octave))


Pairing = tuple[int, tuple[tuple[int, ...], ...]]
"""How uneasy its double stops are in all, and the lines."""


def _best_pairings(instrument: Instrument | str, notes: tuple[int, ...]) -> list[Pairing]:
    """The easiest way to share out the notes with 0, 1, 2, ... double stops, as far as it goes."""

    @cache
    def best(rest: tuple[int, ...]) -> list[Pairing]:
        if not rest:
            return [(0, ())]
        note, others = rest[0], rest[1:]
        found = [(unease, ((note,), *lines)) for unease, lines in best(others)]
        for index, partner in enumerate(others[:_PAIRING_WINDOW]):
            verdict = chord(instrument, (note, partner)).verdict
            if verdict == VERDICTS[-1]:
                continue
            left = others[:index] + others[index + 1 :]
            for pairs, (unease, lines) in enumerate(best(left), start=1):
                option = (unease + _UNEASE[verdict], ((note, partner), *lines))
                if pairs == len(found):
                    found.append(option)
                else:
                    found[pairs] = min(found[pairs], option)
        return found

    return best(notes)


def _suggestion(lines: tuple[Line, ...], players: int, middle_c_octave: int) -> str:
    count = len(lines)
    if count > players:
        return (
            f"Leave out notes or give some to another part: even with double stops these need"
            f" {count} players, and the part has {players}."
        )
    if count == 1:
        return f"Give {_named(lines[0], middle_c_octave)} to every player."
    shares = ", ".join(
        f"{_named(line, middle_c_octave)} ({line.players} player{'s' * (line.players > 1)})"
        for line in lines
    )
    return f"Divide in {count} (div. a {count}): {shares}."


def _named(line: Line, middle_c_octave: int) -> str:
    names = [pitch_name(pitch, middle_c_octave) for pitch in line.pitches]
    return names[0] if len(names) == 1 else f"{names[0]} with {names[1]} as a double stop"
