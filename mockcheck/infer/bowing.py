"""How notes are bowed, heard from their timing alone."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.overlaps import NoteEnds, find_note_ends
from mockcheck.model.columns import stretches
from mockcheck.model.notes import Notes
from mockcheck.model.played import ARTICULATIONS
from mockcheck.params import Params, quantity


class BowingParams(Params):
    """What tells one stroke from another; share means sounding time over time to the next onset."""

    staccato_share: float = quantity(
        0.65,
        unit="share of the time to the next onset",
        low=0.3,
        high=0.8,
        meaning="notes that sound for less are short",
        source="halfway between staccato 0.45 and detache 0.80; staccato on the piano about 0.4"
        " (Bresin and Battel, 2000), the others from memory",
    )
    staccato_longest_s: float = quantity(
        0.3, unit="s", low=0.1, high=1, meaning="a longer sound is no short note"
    )
    touching_share: float = quantity(
        0.97,
        unit="share of the time to the next onset",
        low=0.9,
        high=1,
        meaning="notes that sound for more touch the next one",
        source="from memory",
    )
    touching_gap_s: float = quantity(
        0.03, unit="s", low=0, high=0.1, meaning="and leave no longer gap"
    )
    separate_joins_share: float = quantity(
        0.1,
        unit="share of the joins of a track",
        low=0,
        high=1,
        meaning="a track where at least so many joins are separate means its touching notes as"
        " slurred; where all notes touch, nothing is said about slurs",
    )
    tremolo_rate: float = quantity(
        8,
        unit="notes/s",
        low=4,
        high=16,
        meaning="one pitch repeated at least this fast is a tremolo",
        source="common practice; measured tremolo of sections 12 to 13.8, bouncing strokes of one"
        " bow each up to about 9 notes/s",
    )
    tremolo_notes: float = quantity(
        4, unit="notes", low=3, high=16, meaning="fewer repetitions are none"
    )
    trill_rate: float = quantity(
        8,
        unit="notes/s",
        low=4,
        high=16,
        meaning="two neighbours in turn at least this fast are a trill",
        source="trills of strings 8 to 16 notes/s, from memory",
    )
    trill_notes: float = quantity(
        6, unit="notes", low=4, high=16, meaning="fewer alternations are a turn"
    )
    trill_semitones: float = quantity(3, unit="semitones", low=1, high=4, meaning="widest trill")


BOWING = BowingParams()
_RATE_TOLERANCE = 1.02
_CLOCK_S = 1e-6
LEGATO, DETACHE, STACCATO, TREMOLO, TRILL = (
    ARTICULATIONS.index(name) for name in ("legato", "detache", "staccato", "tremolo", "trill")
)


@dataclass(frozen=True)
class Bowing:
    """The stroke of each note, heard from timing.

    Parameters
    ----------
    code
        Index into ARTICULATIONS, shape (n,).
    confidence
        0-1, shape (n,).
    share
        Sounding time over time to the next onset, shape (n,).
    gap_s
        Time to the next onset, s, infinite for the last one, shape (n,).
    """

    code: NDArray[np.int8]
    confidence: NDArray[np.float64]
    share: NDArray[np.float64]
    gap_s: NDArray[np.float64]


@dataclass(frozen=True)
class _Onsets:
    """The onsets of a line; every array has shape (m,)."""

    gap_s: NDArray[np.float64]
    sounds_s: NDArray[np.float64]
    overlaps: NDArray[np.bool_]
    repeats: NDArray[np.bool_]
    pitch: NDArray[np.int64]
    is_single: NDArray[np.bool_]

    @property
    def share(self) -> NDArray[np.float64]:
        return self.sounds_s / np.maximum(self.gap_s, _CLOCK_S)

    @property
    def touches(self) -> NDArray[np.bool_]:
        gap_after_s = self.gap_s - self.sounds_s
        is_close = gap_after_s <= BOWING.touching_gap_s
        return (self.share >= BOWING.touching_share) & is_close


def hear_bowing(notes: Notes) -> Bowing:
    """Slurred notes run into each other, separate ones leave a little air, short ones much.

    Parameters
    ----------
    notes
        Notes of one track, in time order, shape (n,).

    Returns
    -------
    Legato (notes that overlap or touch the next of another pitch, and the last of such a row),
    detache, staccato, tremolo (one pitch repeated) or trill; the notes of a chord share it.

    Source: sounding share and stroke: Bresin and Battel (2000) for the piano; the limits are named
    one by one in `BowingParams`.
    Not modelled: portato, marcato and bouncing strokes, which timing hardly tells apart, and
    plucking, harmonics and mutes, which it does not show.
    """
    if len(notes) == 0:
        empty = np.empty(0)
        return Bowing(np.empty(0, np.int8), empty, empty, empty)
    ends = find_note_ends(notes)
    onsets = _onsets(notes, ends)
    code = np.full(len(onsets.gap_s), DETACHE, np.int8)
    confidence = _detache_confidence(onsets)
    for found, stroke, surety in (
        _staccato(onsets),
        _legato(onsets),
        _tremolo(onsets),
        _trill(onsets),
    ):
        code[found] = stroke
        confidence[found] = surety[found]
    rows = ends.onset_of_note
    return Bowing(code[rows], confidence[rows], onsets.share[rows], onsets.gap_s[rows])


def _onsets(notes: Notes, ends: NoteEnds) -> _Onsets:
    next_s = np.append(ends.onset_s[1:], np.inf)
    heard, group = ends.heard_release_s, ends.onset_of_note
    # Of a chord the note that leads on counts: the last one to end before the next onset.
    leads_on = heard <= next_s[group] + _CLOCK_S
    until_s = np.maximum.reduceat(np.where(leads_on, heard, -np.inf), ends.first_note)
    held_s = np.minimum.reduceat(heard, ends.first_note)
    until_s = np.where(np.isfinite(until_s), until_s, held_s)
    taken_over = ends.is_joined & (np.abs(heard - next_s[group]) <= _CLOCK_S)
    pitch = notes.pitch.astype(np.int64)
    lowest = np.minimum.reduceat(pitch, ends.first_note)
    highest = np.maximum.reduceat(pitch, ends.first_note)
    total = np.add.reduceat(pitch, ends.first_note)
    size = np.diff(np.append(ends.first_note, len(notes)))
    shape = np.stack([size, lowest, highest, total])
    repeats = np.append(np.all(shape[:, 1:] == shape[:, :-1], axis=0), [False])
    return _Onsets(
        gap_s=next_s - ends.onset_s,
        sounds_s=until_s - ends.onset_s,
        overlaps=np.logical_or.reduceat(taken_over, ends.first_note) & ~repeats,
        repeats=repeats,
        pitch=lowest,
        is_single=size == 1,
    )


_Found = tuple[NDArray[np.bool_], int, NDArray[np.float64]]


def _detache_confidence(onsets: _Onsets) -> NDArray[np.float64]:
    """Surest where a note sounds for four fifths; a note before a rest says little."""
    off = np.abs(onsets.share - 0.8)
    return np.clip(0.6 - off, 0.35, 0.6)


def _staccato(onsets: _Onsets) -> _Found:
    is_brief = onsets.sounds_s <= BOWING.staccato_longest_s
    is_short = is_brief & (onsets.share <= BOWING.staccato_share)
    # Before a rest the written length is unknown: there a note is as short as its neighbour.
    count = len(onsets.gap_s)
    gap_before_s = np.concatenate([onsets.gap_s[1:2], onsets.gap_s])[:count]
    is_before_rest = ~np.isfinite(onsets.gap_s) | (onsets.gap_s > 1.9 * gap_before_s)
    before = np.concatenate([[0.0], onsets.sounds_s[:-1]])
    is_alike = np.abs(onsets.sounds_s - before) <= 0.15 * before
    was_short = np.concatenate([[False], (is_short & ~is_before_rest)[:-1]])
    found = is_short & (~is_before_rest | (is_alike & was_short))
    surety = np.clip(0.45 + 1.5 * (BOWING.staccato_share - onsets.share), 0.45, 0.7)
    return found, STACCATO, surety


def _legato(onsets: _Onsets) -> _Found:
    touches = onsets.touches & ~onsets.repeats & ~onsets.overlaps
    joins = ~onsets.repeats & (onsets.sounds_s <= onsets.gap_s) & np.isfinite(onsets.gap_s)
    separate = joins & ~onsets.touches & ~onsets.overlaps
    says_slurs = separate.sum() >= BOWING.separate_joins_share * max(int(joins.sum()), 1)
    leads = onsets.overlaps | touches if says_slurs else onsets.overlaps
    follows = np.concatenate([[False], leads[:-1]])
    by_overlap = onsets.overlaps | np.concatenate([[False], onsets.overlaps[:-1]])
    return leads | follows, LEGATO, np.where(by_overlap, 0.8, 0.5)


def _tremolo(onsets: _Onsets) -> _Found:
    is_fast = onsets.gap_s <= _RATE_TOLERANCE / BOWING.tremolo_rate
    return (
        _rows_of(onsets.repeats & is_fast, int(BOWING.tremolo_notes)),
        TREMOLO,
        _even(0.8, onsets),
    )


def _trill(onsets: _Onsets) -> _Found:
    step = np.abs(np.diff(onsets.pitch))
    is_step = (step >= 1) & (step <= BOWING.trill_semitones)
    is_step &= onsets.is_single[1:] & onsets.is_single[:-1]
    is_step &= onsets.gap_s[:-1] <= _RATE_TOLERANCE / BOWING.trill_rate
    returns = np.zeros(len(onsets.pitch), np.bool_)
    returns[:-2] = (onsets.pitch[2:] == onsets.pitch[:-2]) & is_step[:-1] & is_step[1:]
    # A row of n returns spans n + 2 notes.
    alternates = _rows_of(returns, int(BOWING.trill_notes) - 1)
    alternates[1:] |= alternates[:-1].copy() & is_step
    return alternates, TRILL, _even(0.8, onsets)


def _even(value: float, onsets: _Onsets) -> NDArray[np.float64]:
    return np.full(len(onsets.gap_s), value)


def _rows_of(leads_on: NDArray[np.bool_], fewest: int) -> NDArray[np.bool_]:
    """Onsets of rows of at least so many, where each leads on to the next in one way."""
    member = np.zeros(len(leads_on), np.bool_)
    for first, after in stretches(leads_on):
        if after - first + 1 >= fewest:
            member[first : after + 1] = True
    return member
