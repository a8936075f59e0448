"""Where a note ends for the player: overlaps that only connect notes are cut off.

Sequencers draw a slur as an overlap of a few milliseconds up to some hundred. The player goes
from one note to the next; only a note that is held on sounds with the following one.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.onsets import first_rows, group_onsets
from mockcheck.model.columns import stretches
from mockcheck.model.notes import Notes
from mockcheck.params import Params, quantity


class OverlapParams(Params):
    """What separates a connected note from a held one."""

    short_s: float = quantity(
        0.08,
        unit="s",
        low=0,
        high=0.3,
        meaning="an overlap up to this long never makes a double stop",
        source="common practice, no source; a bow takes 50 to 90 ms to speak (Guettler, 1997)",
    )
    short_share: float = quantity(
        0.2,
        unit="share of the shorter note",
        low=0,
        high=0.5,
        meaning="nor does one up to this share of the shorter note",
    )
    closest_s: float = quantity(
        0.06,
        unit="s",
        low=0,
        high=0.2,
        meaning="onsets nearer than this may be a rolled chord; there only the share counts",
    )
    systematic_s: float = quantity(
        0.4,
        unit="s",
        low=0,
        high=1,
        meaning="longest overlap that triggers a legato transition when every join has one",
    )
    systematic_share: float = quantity(
        0.35,
        unit="share of the shorter note",
        low=0,
        high=0.5,
        meaning="the same, as a share; suspensions in two voices overlap by half a note",
    )
    systematic_brief_s: float = quantity(
        0.12,
        unit="s",
        low=0,
        high=0.3,
        meaning="a systematic overlap this short counts whatever its share: nobody hears so short"
        " a double stop",
    )
    systematic_joins: float = quantity(
        3,
        unit="joins",
        low=2,
        high=16,
        meaning="so many overlapping joins in a row are a way of writing",
    )
    systematic_track_share: float = quantity(
        0.6,
        unit="share of the joins",
        low=0.3,
        high=1,
        meaning="or so many of all joins of a track",
    )


OVERLAP = OverlapParams()
_CLOCK_S = 1e-6
_ENOUGH_JOINS = 8


@dataclass(frozen=True)
class NoteEnds:
    """Onsets of a line and where its notes end for the player.

    Parameters
    ----------
    onset_of_note
        Number of the onset each note belongs to, shape (n,).
    first_note, onset_s
        First note and second of each onset, shape (m,).
    heard_release_s
        Release of each note without what only connects it to the next, s, shape (n,).
    is_joined
        True where an overlap connects the note to the next onset, shape (n,).
    """

    onset_of_note: NDArray[np.int64]
    first_note: NDArray[np.int64]
    onset_s: NDArray[np.float64]
    heard_release_s: NDArray[np.float64]
    is_joined: NDArray[np.bool_]


def find_note_ends(notes: Notes) -> NoteEnds:
    """A player lets go of a note where the next one takes over, even if the key stays down.

    Parameters
    ----------
    notes
        Notes of one line or one part, in time order, shape (n,).

    Returns
    -------
    `heard_release_s` is the release, or the later onset up to which the note is truly held:
    short overlaps, overlaps at every join of a line, and the rest of a key struck again are cut.

    Not modelled: pedals; a string stops when its finger or bow does.
    """
    group = group_onsets(notes.onset_s, notes.release_s)
    first = first_rows(group)
    onset_s = notes.onset_s[first]
    heard = notes.release_s.copy()
    joined = np.zeros(len(notes), np.bool_)
    if len(notes):
        line = _Line(notes, group, first, onset_s)
        for find in (_short_overlaps, _systematic_overlaps):
            found, until_s = find(line)
            heard = np.where(found, np.minimum(heard, until_s), heard)
            joined |= found
        _cut_struck_again(notes, group, heard)
    return NoteEnds(group, first, onset_s, heard, joined)


@dataclass(frozen=True)
class _Line:
    notes: Notes
    group: NDArray[np.int64]
    first: NDArray[np.int64]
    onset_s: NDArray[np.float64]

    @property
    def shortest_s(self) -> NDArray[np.float64]:
        """Duration of the shortest note of each onset."""
        return np.minimum.reduceat(self.notes.duration_s, self.first)

    def onset_at(self, number: NDArray[np.int64]) -> NDArray[np.float64]:
        """Second of an onset; infinitely late behind the last one."""
        padded = np.append(self.onset_s, np.inf)
        return padded[np.minimum(number, len(self.onset_s))]


def _short_overlaps(line: _Line) -> tuple[NDArray[np.bool_], NDArray[np.float64]]:
    """Overlaps of a few hundredths of a second, or of a small part of both notes."""
    notes = line.notes
    by_share = OVERLAP.short_share * notes.duration_s
    found = np.zeros(len(notes), np.bool_)
    until_s = np.full(len(notes), np.inf)
    shortest = np.append(line.shortest_s, 0.0)
    for longest in (np.maximum(OVERLAP.short_s, by_share), OVERLAP.short_s):
        reach = np.searchsorted(line.onset_s, notes.release_s - longest - _CLOCK_S, side="left")
        taker = np.minimum(np.maximum(reach, line.group + 1), len(line.onset_s))
        taken_s = line.onset_at(taker)
        overlap = notes.release_s - taken_s
        share_s = OVERLAP.short_share * np.minimum(notes.duration_s, shortest[taker])
        is_apart = taken_s - notes.onset_s >= OVERLAP.closest_s
        allowed = np.maximum(np.where(is_apart, OVERLAP.short_s, 0.0), share_s)
        hit = (overlap > 0) & (overlap <= allowed + _CLOCK_S) & ~found
        until_s[hit] = taken_s[hit]
        found |= hit
    return found, until_s


def _systematic_overlaps(line: _Line) -> tuple[NDArray[np.bool_], NDArray[np.float64]]:
    """Overlaps up to some tenths of a second, where join after join has one."""
    notes = line.notes
    next_s = line.onset_at(line.group + 1)
    overlap = notes.release_s - next_s
    shorter = np.minimum(notes.duration_s, np.append(line.shortest_s, 0.0)[line.group + 1])
    is_brief = overlap <= OVERLAP.systematic_brief_s
    is_small = is_brief | (overlap <= OVERLAP.systematic_share * shorter)
    # A note that goes on under the onset after the next is held against a moving voice.
    ends_before_third = notes.release_s <= line.onset_at(line.group + 2) + OVERLAP.short_s
    found = (
        (overlap > 0)
        & (overlap <= OVERLAP.systematic_s + _CLOCK_S)
        & is_small
        & (ends_before_third | is_brief)
    )
    overlapping = np.logical_or.reduceat(found, line.first)
    return found & _is_customary(overlapping)[line.group], next_s


def _is_customary(overlapping: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Onsets whose overlap is one of a row, or of a track that writes so throughout."""
    joins = max(len(overlapping) - 1, 1)
    share = float(overlapping.sum()) / joins
    if joins >= _ENOUGH_JOINS and share >= OVERLAP.systematic_track_share:
        return np.ones(len(overlapping), np.bool_)
    customary = np.zeros(len(overlapping), np.bool_)
    for first, after in stretches(overlapping):
        customary[first:after] = after - first >= OVERLAP.systematic_joins
    return customary


def _cut_struck_again(notes: Notes, group: NDArray[np.int64], heard: NDArray[np.float64]) -> None:
    """The same pitch struck again ends the note that was sounding."""
    order = np.lexsort((notes.onset_s, notes.pitch))
    now, later = order[:-1], order[1:]
    again = (notes.pitch[now] == notes.pitch[later]) & (group[later] > group[now])
    heard[now[again]] = np.minimum(heard[now[again]], notes.onset_s[later[again]])
