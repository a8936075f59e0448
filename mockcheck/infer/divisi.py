"""Whether the notes of a part that sound at once are double stops, or lines for several players."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.layers import find_groups
from mockcheck.infer.overlaps import NoteEnds
from mockcheck.infer.players import share_players
from mockcheck.infer.texture import MOST_LINES, find_texture
from mockcheck.infer.thick_passages import ThickPassages, find_thick_passages
from mockcheck.infer.voices import find_voices
from mockcheck.model.instrument import Instrument
from mockcheck.model.notes import Notes
from mockcheck.model.played import LINE_KINDS, PartLines, Sonorities
from mockcheck.params import Params, quantity

_FITTED = (
    "logistic regression on passages of 14 open string quartets, double stops of each part against"
    " two or three parts put on one track; on 12 others 82 % are decided right"
)


class DivisiParams(Params):
    """What speaks for several players, in natural logarithms of the odds."""

    plain: float = quantity(
        -2, unit="log odds", low=-10, high=10, meaning="a chord with nothing else", source=_FITTED
    )
    unplayable: float = quantity(
        2.9,
        unit="log odds",
        low=0,
        high=20,
        meaning="one hand cannot hold some chord",
        source=_FITTED,
    )
    hard: float = quantity(
        1.8,
        unit="log odds by share of the time",
        low=0,
        high=20,
        meaning="chords that are hard for one hand",
        source=_FITTED,
    )
    independent: float = quantity(
        1.6,
        unit="log odds by log of one and the number",
        low=0,
        high=20,
        meaning="notes that move while another is held, no open string among them",
        source=_FITTED,
    )
    rate: float = quantity(
        0.7,
        unit="log odds by log of one and the chords a second",
        low=0,
        high=20,
        meaning="many chords a second",
        source=_FITTED,
    )
    motion: float = quantity(
        0.5,
        unit="log odds by log of one and the semitones",
        low=0,
        high=20,
        meaning="wide ways from chord to chord",
        source=_FITTED,
    )
    open_string: float = quantity(
        -0.4,
        unit="log odds by share of the time",
        low=-20,
        high=0,
        meaning="an open string sounds with the rest",
        source=_FITTED,
    )
    sustained: float = quantity(
        4,
        unit="log odds by share of the time",
        low=0,
        high=20,
        meaning="three notes or more are held: one bow sustains two",
    )
    tracks: float = quantity(
        4,
        unit="log odds by share of the onsets",
        low=0,
        high=20,
        meaning="the notes come from tracks that neither take turns nor double each other",
    )
    alone: float = quantity(
        0.05,
        unit="share of the passages",
        low=0.001,
        high=0.999,
        meaning="what a soloist's track holds of passages for several players",
    )
    sure: float = quantity(
        0.65,
        unit="probability",
        low=0.5,
        high=1,
        meaning="below this it is left open which of the two is meant",
    )


DIVISI = DivisiParams()
_ONE_LINE, _DOUBLE_STOPS, _DIVISI, _OPEN = range(len(LINE_KINDS))


def find_lines(
    notes: Notes,
    track: NDArray[np.int64],
    ends: NoteEnds,
    sonorities: Sonorities,
    player: Instrument,
    players: int,
) -> PartLines:
    """A passage is one player's double stops, or divided, or could be either.

    Parameters
    ----------
    notes, track
        All notes of one part, in time order, and the track each is from, shape (n,).
    ends, sonorities
        Their onsets and ends, and what sounds together.
    player, players
        The instrument, and how many play the part.

    Returns
    -------
    Lines, kinds and players as `PartLines` has them. Double stops are numbered from the top and
    single notes between them are the first line; where a section may divide, lines go on through
    single notes.

    Source: ways to tell divisi from double stops as orchestrators name them (common practice, no
    source), weighed as declared.
    Not modelled: 'div.' and 'unis.' written as text, and what two hands would save in time.
    """
    group = find_groups(notes, track)
    passages = find_thick_passages(notes, ends, sonorities, player, group)
    # The strings of a whole body are several sections, whatever they play.
    chance = np.ones(len(passages)) if player.is_ensemble else _chance(passages, players)
    kind, sure = _by_onset(passages, chance, len(sonorities))
    is_divided = _is_divided(kind)
    texture = find_texture(notes.pitch, ends, sonorities)
    # Where nobody divides there is one line to follow, whatever strings it needs.
    texture = replace(texture, usual=np.where(is_divided, texture.usual, 1))
    onset = ends.onset_of_note
    line = np.where(kind == _DOUBLE_STOPS, 1, 0)[onset] * _rank(notes.pitch, ends, sonorities)
    if is_divided.any():
        voice = find_voices(notes, ends, sonorities, texture)
        line = np.where(is_divided[onset], voice, line)
    at_once = np.maximum(texture.usual, _lines_in_use(line, sonorities))[onset]
    share = np.array([_shared(players, lines) for lines in range(1, MOST_LINES + 1)])
    is_shared = (kind[onset] == _DIVISI) | (kind[onset] == _OPEN)
    return PartLines(
        line=line,
        players=np.where(is_shared, share[at_once - 1, line], players),
        kind=kind[onset],
        confidence=sure[onset],
    )


def _chance(passages: ThickPassages, players: int) -> NDArray[np.float64]:
    """How likely each passage is for several players, shape (passages,)."""
    odds = (
        DIVISI.plain
        + DIVISI.unplayable * passages.is_unplayable
        + DIVISI.hard * passages.hard_share
        + DIVISI.independent * np.log1p(passages.independent)
        + DIVISI.rate * np.log1p(passages.per_s)
        + DIVISI.motion * np.log1p(passages.motion_semitones)
        + DIVISI.open_string * passages.open_share
        + DIVISI.sustained * passages.sustained_share
        + DIVISI.tracks * passages.on_tracks_share
    )
    if players == 1:
        odds = odds + np.log(DIVISI.alone / (1 - DIVISI.alone))
    chance: NDArray[np.float64] = 1 / (1 + np.exp(-odds))
    return chance


def _by_onset(
    passages: ThickPassages, chance: NDArray[np.float64], onsets: int
) -> tuple[NDArray[np.int8], NDArray[np.float64]]:
    """Kind of each onset, and how sure it is, shape (onsets,) each."""
    kind, sure = np.full(onsets, _ONE_LINE, np.int8), np.ones(onsets)
    for first, last, divisi in zip(
        passages.first_row.tolist(), passages.last_row.tolist(), chance.tolist(), strict=True
    ):
        sure[first : last + 1] = max(divisi, 1 - divisi)
        is_sure = sure[first] >= DIVISI.sure
        which = (_DIVISI if divisi > 1 / 2 else _DOUBLE_STOPS) if is_sure else _OPEN
        kind[first : last + 1] = which
    return kind, sure


def _is_divided(kind: NDArray[np.int8]) -> NDArray[np.bool_]:
    """Onsets at which lines go on: divisi, perhaps divisi, and one line before or after these."""
    place = np.arange(len(kind))
    thick = kind != _ONE_LINE
    before = np.maximum.accumulate(np.where(thick, place, -1))
    after = np.minimum.accumulate(np.where(thick, place, len(kind))[::-1])[::-1]
    may_divide = np.isin(np.append(kind, _ONE_LINE), (_DIVISI, _OPEN))
    divided: NDArray[np.bool_] = may_divide[before] | may_divide[after]
    return np.where(thick, may_divide[:-1], divided)


def _rank(pitch: NDArray[np.int16], ends: NoteEnds, sonorities: Sonorities) -> NDArray[np.int64]:
    """How many notes that sound at its onset are higher than each note, shape (n,)."""
    row = np.repeat(np.arange(len(sonorities)), np.diff(sonorities.first))
    keys = row * 128 + pitch[sonorities.members]
    up_to = np.searchsorted(keys, ends.onset_of_note * 128 + pitch, side="right")
    rank: NDArray[np.int64] = sonorities.first[ends.onset_of_note + 1] - up_to
    return np.minimum(rank, MOST_LINES - 1)


def _lines_in_use(line: NDArray[np.int64], sonorities: Sonorities) -> NDArray[np.int64]:
    """One more than the lowest line that sounds at each onset."""
    if not len(sonorities):
        return np.ones(0, np.int64)
    lowest: NDArray[np.int64] = np.maximum.reduceat(line[sonorities.members], sonorities.first[:-1])
    return lowest + 1


def _shared(players: int, lines: int) -> tuple[int, ...]:
    """Players of each of so many lines, padded to MOST_LINES."""
    return share_players(players, lines) + (0,) * (MOST_LINES - lines)
