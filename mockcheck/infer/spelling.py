"""How each note would be written: letter and accidental, as a place on the line of fifths.

On that line C is 0, G 1, F -1; seven places on is a sharp more. Spellings that belong together lie
close together, and so do the notes of a key. The most likely way to spell a line is the path on
which each note fits the key, the music around it, the way the line moves on from it (a note that
rises by a semitone is a leading note more often than not), and the notes just before it; how likely
each of these is was counted in published string quartets.

Source: line of fifths, D. Temperley, The Cognition of Basic Musical Structures (2001); voices as
Markov chains with an exact dynamic programme, G. Teodoru and C. Raphael (2007). Counted by
`python -m tests.reading.learn_spelling`.
Not modelled: what the other parts sound at the same moment beyond the tonal centre that all share.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib import resources

import numpy as np
from numpy.typing import NDArray

WIDEST_LEAP_SEMITONES = 14
"""Wider leaps are spelled as this one; a ninth is."""
FARTHEST_FIFTHS = 30
CENTRE_STEPS_PER_FIFTH = 2
CENTRE_QUARTERS = 6.0
"""Music this far before and after a note tells its tonal centre; 4 to 12 quarters did as well."""
SAME_PLACE_QUARTERS = 1e-6
"""Rounding: the same music counts the same wherever in the file it stands."""

KEY_MIDDLE_FIFTHS = 1.5
"""The notes of a key lie about its tonic from -1 to 5; what is used of them centres here."""

WIDEST_TURN_SEMITONES = 3
"""How a line comes to a note and leaves it, up to this far; all wider leaps count as one."""
TURNS = (2 * WIDEST_TURN_SEMITONES + 1) ** 2

_KEY_WEIGHT, _CENTRE_WEIGHT, _KEY_TURN_WEIGHT, _CENTRE_TURN_WEIGHT = 0.17, 0.86, 0.38, 1.6
_STEP_WEIGHT, _SKIP_WEIGHT = 0.7, 0.3
"""Set on half of the composers of open string quartets (python -m tests.reading.learn_spelling)."""
_USUAL_COUNTS = 2.0
_PASSES = 3
_BLOCK, _MARGIN = 64, 24
_CHOICES = np.array([-1, 0, 1])


@dataclass(frozen=True)
class SpellingTables:
    """Costs (-log of a share) of what was counted.

    Parameters
    ----------
    key
        By place above the tonic of a major key of the signature, -30..30, shape (61,).
    centre
        By place above the mean of the music around, in half fifths, -30..30, shape (121,).
    step, skip
        By semitones from the note before (the last but one), -14..14, and by the places between
        them, -30..30, shape (29, 61).
    key_turn, centre_turn
        By turn of the line, and by place above the tonic of the signature's major key, or above
        where the tonic would be by the music around; among spellings of one pitch, shape (49, 61).
    """

    key: NDArray[np.float64]
    centre: NDArray[np.float64]
    step: NDArray[np.float64]
    skip: NDArray[np.float64]
    key_turn: NDArray[np.float64]
    centre_turn: NDArray[np.float64]


@cache
def spelling_tables() -> SpellingTables:
    """The tables that ship with the package."""
    text = resources.files("mockcheck.infer").joinpath("spelling_counts.json").read_text("utf-8")
    counted = {name: np.array(rows, np.float64) for name, rows in json.loads(text).items()}
    return tables_from_counts(**counted)


def tables_from_counts(
    key: NDArray[np.float64],
    centre: NDArray[np.float64],
    step: NDArray[np.float64],
    skip: NDArray[np.float64],
    key_turn: NDArray[np.float64],
    centre_turn: NDArray[np.float64],
) -> SpellingTables:
    """Costs from counts; what was never seen is rare, not impossible."""
    return SpellingTables(
        _cost(key[None] + 0.05)[0],
        _cost(centre[None] + 0.05)[0],
        _cost(step + 0.3),
        _cost(skip + 0.3),
        _cost_of_turns(key_turn),
        _cost_of_turns(centre_turn),
    )


def _cost(counts: NDArray[np.float64]) -> NDArray[np.float64]:
    cost: NDArray[np.float64] = -np.log(_shares(counts))
    return cost


def _cost_of_turns(counts: NDArray[np.float64]) -> NDArray[np.float64]:
    """Costs among the spellings of each pitch class; a rare turn leans on what all turns do."""
    pitch_class = np.arange(-FARTHEST_FIFTHS, FARTHEST_FIFTHS + 1) % 12
    cost = np.empty(counts.shape)
    for one in range(12):
        same = pitch_class == one
        usual = _shares(counts[:, same].sum(axis=0, keepdims=True) + 0.3)
        cost[:, same] = -np.log(_shares(counts[:, same] + _USUAL_COUNTS * usual))
    return cost


def _shares(counts: NDArray[np.float64]) -> NDArray[np.float64]:
    shares: NDArray[np.float64] = counts / counts.sum(axis=1, keepdims=True)
    return shares


@dataclass(frozen=True)
class LineToSpell:
    """The notes of one part in reading order.

    Parameters
    ----------
    pitch
        Sounding MIDI pitches, shape (n,).
    quarters
        Onset, quarter notes, rising, shape (n,).
    key_fifths
        Key signature in force: sharps, or flats below 0, shape (n,); None where no signature is to
        be believed.
    """

    pitch: NDArray[np.int64]
    quarters: NDArray[np.float64]
    key_fifths: NDArray[np.int64] | None


def spell(
    lines: Sequence[LineToSpell], tables: SpellingTables | None = None
) -> list[NDArray[np.int64]]:
    """Parts that sound together share their tonal centre; each is spelled as its own line.

    Returns
    -------
    Place on the line of fifths of each note of each line, shape (n,).
    """
    if not lines:
        return []
    tables = tables or spelling_tables()
    centres = _first_centres(lines)
    spelled: list[NDArray[np.int64]] = []
    for _ in range(_PASSES):
        spelled = [
            _spell_line(line, centre, tables) for line, centre in zip(lines, centres, strict=True)
        ]
        centres = tonal_centres(lines, spelled)
    return spelled


def _first_centres(lines: Sequence[LineToSpell]) -> list[NDArray[np.float64]]:
    guess = _best_key(lines) + KEY_MIDDLE_FIFTHS
    return [
        np.full(len(line.pitch), guess)
        if line.key_fifths is None
        else line.key_fifths.astype(np.float64) + KEY_MIDDLE_FIFTHS
        for line in lines
    ]


def _best_key(lines: Sequence[LineToSpell]) -> int:
    """The signature whose middle the pitch classes lie closest to."""
    pitches = np.concatenate([line.pitch for line in lines]) if lines else np.empty(0, np.int64)
    counts = np.bincount(pitches % 12, minlength=12)
    fifths = 7 * np.arange(12) % 12

    def distance(key: int) -> float:
        away = (fifths - key - KEY_MIDDLE_FIFTHS + 6) % 12 - 6
        return float(counts @ np.abs(away))

    return min(range(-6, 7), key=distance)


def tonal_centres(
    lines: Sequence[LineToSpell], spelled: Sequence[NDArray[np.int64]]
) -> list[NDArray[np.float64]]:
    """Mean place of all that begins within a few quarters of each note, over all lines."""
    quarters = np.concatenate([line.quarters for line in lines])
    order = np.argsort(quarters, kind="stable")
    quarters = quarters[order]
    total = np.concatenate([[0], np.cumsum(np.concatenate(list(spelled))[order])])
    centres = []
    for line in lines:
        # What lies just as far away falls on the same side wherever in the file it stands.
        first = np.searchsorted(quarters, line.quarters - CENTRE_QUARTERS - SAME_PLACE_QUARTERS)
        after = np.searchsorted(quarters, line.quarters + CENTRE_QUARTERS - SAME_PLACE_QUARTERS)
        centres.append((total[after] - total[first]) / np.maximum(after - first, 1))
    return centres


def _spell_line(
    line: LineToSpell, centre: NDArray[np.float64], tables: SpellingTables
) -> NDArray[np.int64]:
    if not len(line.pitch):
        return np.empty(0, np.int64)
    nearest = 7 * line.pitch % 12
    octaves = np.round((centre - nearest) / 12).astype(np.int64)
    choices = nearest[:, None] + 12 * (octaves[:, None] + _CHOICES)
    away = np.round(CENTRE_STEPS_PER_FIFTH * (choices - centre[:, None])).astype(np.int64)
    cost = _CENTRE_WEIGHT * tables.centre[_index(away, CENTRE_STEPS_PER_FIFTH * FARTHEST_FIFTHS)]
    turn = turns(line.pitch)[:, None]
    above = above_centre(choices, centre[:, None])
    cost += _CENTRE_TURN_WEIGHT * tables.centre_turn[turn, _index(above)]
    if line.key_fifths is not None:
        above = _index(choices - line.key_fifths[:, None])
        cost += _KEY_WEIGHT * tables.key[above] + _KEY_TURN_WEIGHT * tables.key_turn[turn, above]
    best = _best_choices(line.pitch, choices, cost, tables)
    spelled: NDArray[np.int64] = choices[np.arange(len(choices)), best]
    return spelled


def turns(pitch: NDArray[np.int64]) -> NDArray[np.int64]:
    """How a line comes to each note and leaves it, repetitions passed over; 0..48, shape (n,)."""
    moves = np.flatnonzero(np.diff(pitch))
    leap = np.concatenate([[0], np.diff(pitch)[moves], [0]])
    move = np.searchsorted(moves, np.arange(len(pitch)))
    wide = WIDEST_TURN_SEMITONES
    before: NDArray[np.int64] = np.clip(leap[move], -wide, wide) + wide
    after: NDArray[np.int64] = np.clip(leap[move + 1], -wide, wide) + wide
    turn: NDArray[np.int64] = before * (2 * wide + 1) + after
    return turn


def above_centre(fifths: NDArray[np.int64], centre: NDArray[np.float64]) -> NDArray[np.int64]:
    """Places above where the tonic of a major key would be, by the music around."""
    above: NDArray[np.int64] = np.round(fifths - centre + KEY_MIDDLE_FIFTHS).astype(np.int64)
    return above


def _index(away: NDArray[np.int64], farthest: int = FARTHEST_FIFTHS) -> NDArray[np.int64]:
    row: NDArray[np.int64] = np.clip(away, -farthest, farthest) + farthest
    return row


def _best_choices(
    pitch: NDArray[np.int64],
    choices: NDArray[np.int64],
    cost: NDArray[np.float64],
    tables: SpellingTables,
) -> NDArray[np.int64]:
    """Path of least cost, found for many blocks of the line at once.

    Each block begins and ends some notes beyond what is kept of it: paths from different
    beginnings have met by then.
    """
    count = len(pitch)
    blocks = -(-count // _BLOCK)
    place = np.arange(blocks)[:, None] * _BLOCK + np.arange(-_MARGIN, _BLOCK + _MARGIN)
    is_there = (place >= 0) & (place < count)
    place = np.clip(place, 0, count - 1)
    line = _Blocks(pitch[place], choices[place], cost[place] * is_there[..., None], is_there)
    path = _viterbi(line, tables)
    kept: NDArray[np.int64] = path[:, _MARGIN : _MARGIN + _BLOCK].reshape(-1)[:count]
    return kept


@dataclass(frozen=True)
class _Blocks:
    """Stretches of a line side by side; every array begins with (blocks, notes)."""

    pitch: NDArray[np.int64]
    choices: NDArray[np.int64]
    cost: NDArray[np.float64]
    is_there: NDArray[np.bool_]

    def between(
        self, place: int, back: int, table: NDArray[np.float64], weight: float
    ) -> NDArray[np.float64]:
        """Cost from each choice `back` notes before to each choice here, shape (blocks, 3, 3)."""
        before = place - back
        leap = self.pitch[:, place] - self.pitch[:, before]
        row = _index(leap, WIDEST_LEAP_SEMITONES)
        away = self.choices[:, place, None, :] - self.choices[:, before, :, None]
        both = self.is_there[:, place] & self.is_there[:, before]
        return weight * both[:, None, None] * table[row[:, None, None], _index(away)]


def _viterbi(line: _Blocks, tables: SpellingTables) -> NDArray[np.int64]:
    """Second order: the state is the choice of the note before and of this one."""
    blocks, notes = line.pitch.shape
    step = line.between(1, 1, tables.step, _STEP_WEIGHT)
    least = line.cost[:, 0, :, None] + line.cost[:, 1, None, :] + step
    came_from = np.empty((notes, blocks, 3, 3), np.int8)
    for place in range(2, notes):
        skip = line.between(place, 2, tables.skip, _SKIP_WEIGHT)
        through = least[:, :, :, None] + skip[:, :, None, :]
        came_from[place] = through.argmin(axis=1)
        step = line.between(place, 1, tables.step, _STEP_WEIGHT)
        least = through.min(axis=1) + step + line.cost[:, place, None, :]
    path = np.empty((blocks, notes), np.int64)
    before, here = np.divmod(least.reshape(blocks, 9).argmin(axis=1), 3)
    path[:, -1], path[:, -2] = here, before
    rows = np.arange(blocks)
    for place in range(notes - 1, 1, -1):
        earlier = came_from[place, rows, before, here].astype(np.int64)
        path[:, place - 2] = earlier
        before, here = earlier, before
    return path
