"""Where a part sounds more than one note at once, and what speaks for one player or for several."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.chords import is_written_out_harmonic
from mockcheck.infer.overlaps import NoteEnds
from mockcheck.model.instrument import Instrument
from mockcheck.model.notes import Notes
from mockcheck.model.played import Sonorities
from mockcheck.params import Params, quantity
from mockcheck.playing.chords import chord


class ThickParams(Params):
    """What belongs to one passage, and what counts as a line of its own."""

    same_passage_s: float = quantity(
        2, unit="s", low=0, high=60, meaning="chords closer together are one passage"
    )
    held_s: float = quantity(
        0.15,
        unit="s",
        low=0.02,
        high=2,
        meaning="a note that began so long before another and lasts so long after it is held",
        source="three times the spread of onsets in ensembles, 49 ms: Rasch (1979)",
    )
    sustained_s: float = quantity(
        1,
        unit="s",
        low=0.1,
        high=60,
        meaning="three notes or more that sound together for longer are not meant broken",
    )
    follows_s: float = quantity(
        1.5, unit="s", low=0.1, high=10, meaning="a later chord is not reached by moving the hand"
    )


THICK = ThickParams()


@dataclass(frozen=True)
class ThickPassages:
    """Passages in which more than one note sounds; all arrays have shape (passages,).

    Parameters
    ----------
    first_row, last_row
        First and last onset of each, rows of the sonorities.
    is_unplayable
        Whether some chord is beyond one hand.
    hard_share
        Share of the chords' time that good players would call hard.
    independent
        Onsets at which a note moves while another is held, neither of them an open string.
    sustained_share
        Share of the time in which three notes or more are held together.
    per_s
        Chords a second.
    motion_semitones
        How far highest and lowest note move together, from chord to chord, mean.
    open_share
        Share of the time in which an open string sounds.
    on_tracks_share
        Share of the onsets whose notes come from tracks of different players.
    """

    first_row: NDArray[np.int64]
    last_row: NDArray[np.int64]
    is_unplayable: NDArray[np.bool_]
    hard_share: NDArray[np.float64]
    independent: NDArray[np.int64]
    sustained_share: NDArray[np.float64]
    per_s: NDArray[np.float64]
    motion_semitones: NDArray[np.float64]
    open_share: NDArray[np.float64]
    on_tracks_share: NDArray[np.float64]

    def __len__(self) -> int:
        return len(self.first_row)


def find_thick_passages(
    notes: Notes,
    ends: NoteEnds,
    sonorities: Sonorities,
    player: Instrument,
    group: NDArray[np.int64],
) -> ThickPassages:
    """Chords that follow closely are one passage, decided as one.

    Parameters
    ----------
    notes, ends, sonorities
        The music of one part, shape (n,) and its m onsets.
    player
        The instrument; nothing is asked of the hand where it is a whole body of strings.
    group
        The group of players that each note's track stands for, shape (n,).
    """
    rows = np.flatnonzero(np.diff(sonorities.first) > 1)
    if not len(rows):
        return _no_passages()
    table = _Rows(notes, ends, sonorities, rows)
    begin_s = ends.onset_s[rows]
    end_s = begin_s + table.sounding_s
    begins = np.append(True, begin_s[1:] - np.maximum.accumulate(end_s)[:-1] > THICK.same_passage_s)
    first = np.flatnonzero(begins)
    last = np.append(first[1:], len(rows)) - 1
    time_s = np.add.reduceat(table.sounding_s, first)
    count = last - first + 1
    span_s = np.maximum(np.maximum.accumulate(end_s)[last] - begin_s[first], time_s)
    is_unplayable, is_hard = _asked_of_one_hand(notes, sonorities, rows, player)
    is_open = np.isin(notes.pitch[table.member], player.open_strings)

    def share(values: NDArray[np.bool_]) -> NDArray[np.float64]:
        return np.add.reduceat(table.sounding_s * values, first) / time_s

    moves = _motion(table, begin_s, begins)
    return ThickPassages(
        first_row=rows[first],
        last_row=rows[last],
        is_unplayable=np.logical_or.reduceat(is_unplayable, first),
        hard_share=share(is_hard),
        independent=np.add.reduceat(table.independent(is_open).astype(np.int64), first),
        sustained_share=share(table.is_sustained),
        per_s=count / span_s,
        motion_semitones=np.add.reduceat(moves, first) / np.maximum(count - 1, 1),
        open_share=share(table.any(is_open)),
        on_tracks_share=np.add.reduceat(table.mixed(group).astype(np.int64), first) / count,
    )


def _no_passages() -> ThickPassages:
    numbers, shares, marks = np.empty(0, np.int64), np.empty(0), np.empty(0, np.bool_)
    return ThickPassages(
        first_row=numbers,
        last_row=numbers,
        is_unplayable=marks,
        hard_share=shares,
        independent=numbers,
        sustained_share=shares,
        per_s=shares,
        motion_semitones=shares,
        open_share=shares,
        on_tracks_share=shares,
    )


class _Rows:
    """The notes that sound at some onsets, and what can be said onset by onset."""

    def __init__(
        self, notes: Notes, ends: NoteEnds, sonorities: Sonorities, rows: NDArray[np.int64]
    ) -> None:
        sizes = np.diff(sonorities.first)[rows]
        self.first = np.append(0, np.cumsum(sizes))[:-1]
        steps = np.arange(int(sizes.sum())) - np.repeat(self.first, sizes)
        self.member = sonorities.members[np.repeat(sonorities.first[rows], sizes) + steps]
        onset_s = np.repeat(ends.onset_s[rows], sizes)
        end_s = ends.heard_release_s[self.member]
        next_s = np.append(ends.onset_s, np.inf)[rows + 1]
        self.sounding_s = np.maximum(
            np.minimum(np.minimum.reduceat(end_s, self.first), next_s) - ends.onset_s[rows], 0.02
        )
        self.held = (notes.onset_s[self.member] < onset_s - THICK.held_s) & (
            end_s > onset_s + THICK.held_s
        )
        self.struck = ends.onset_of_note[self.member] == np.repeat(rows, sizes)
        together_s = np.minimum.reduceat(end_s, self.first) - np.maximum.reduceat(
            notes.onset_s[self.member], self.first
        )
        self.is_sustained = (sizes > 2) & (together_s > THICK.sustained_s)
        pitch = notes.pitch[self.member].astype(np.int64)
        self.lowest, self.highest = (
            pitch[self.first],
            pitch[np.append(self.first[1:], len(pitch)) - 1],
        )

    def any(self, mask: NDArray[np.bool_]) -> NDArray[np.bool_]:
        """Whether some note of each onset is so."""
        found: NDArray[np.bool_] = np.logical_or.reduceat(mask, self.first)
        return found

    def independent(self, is_open: NDArray[np.bool_]) -> NDArray[np.bool_]:
        """One note moves, another is held, and neither rests on an open string."""
        return self.any(self.held & ~is_open) & self.any(self.struck & ~is_open)

    def mixed(self, group: NDArray[np.int64]) -> NDArray[np.bool_]:
        """Notes of more than one group."""
        own = group[self.member]
        mixed: NDArray[np.bool_] = np.maximum.reduceat(own, self.first) > np.minimum.reduceat(
            own, self.first
        )
        return mixed


def _motion(
    table: _Rows, begin_s: NDArray[np.float64], begins: NDArray[np.bool_]
) -> NDArray[np.float64]:
    """Way of the highest and the lowest note into each chord, semitones; 0 after a while."""
    moves = np.abs(np.diff(table.highest, prepend=table.highest[:1])) + np.abs(
        np.diff(table.lowest, prepend=table.lowest[:1])
    )
    follows = ~begins & (np.diff(begin_s, prepend=-np.inf) < THICK.follows_s)
    return np.where(follows, moves, 0).astype(np.float64)


def _asked_of_one_hand(
    notes: Notes, sonorities: Sonorities, rows: NDArray[np.int64], player: Instrument
) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Which chords one hand cannot hold, and which are hard for it."""
    pitch = notes.pitch[sonorities.members].tolist()
    bounds = sonorities.first.tolist()
    answers: dict[tuple[int, ...], tuple[bool, bool]] = {}
    found = np.zeros((len(rows), 2), np.bool_)
    for place, row in enumerate(rows.tolist()):
        pitches = tuple(pitch[bounds[row] : bounds[row + 1]])
        if pitches not in answers:
            answers[pitches] = _unplayable_or_hard(player, pitches)
        found[place] = answers[pitches]
    return found[:, 0], found[:, 1]


def _unplayable_or_hard(player: Instrument, pitches: tuple[int, ...]) -> tuple[bool, bool]:
    if player.is_ensemble or pitches[0] < player.lowest or is_written_out_harmonic(pitches):
        # A whole body has many hands; a note out of range, or one harmonic written as three
        # notes, says nothing about who plays.
        return False, False
    answer = chord(player, pitches)
    return not answer.is_playable, answer.verdict == "hard"
