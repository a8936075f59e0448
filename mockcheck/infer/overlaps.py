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
    customary_s: float = quantity(
        0.4,
        unit="s",
        low=0,
        high=1,
        meaning="longest overlap that triggers a legato transition where joins have one by custom",
    )
    customary_share: float = quantity(
        0.65,
        unit="share of the time the next note has",
        low=0,
        high=0.9,
        meaning="the same, as a share; a suspension lasts until the voice it is held against moves",
    )
    customary_brief_s: float = quantity(
        0.12,
        unit="s",
        low=0,
        high=0.3,
        meaning="a customary overlap this short counts whatever its share: nobody hears so short a"
        " double stop",
    )
    customary_joins: float = quantity(
        3,
        unit="joins",
        low=2,
        high=16,
        meaning="so many overlapping joins in a row are a custom",
    )
    customary_overlaps: float = quantity(
        8, unit="overlaps", low=2, high=100, meaning="or so many in a track, if"
    )
    customary_track_share: float = quantity(
        0.6,
        unit="share of the overlaps of a track",
        low=0.3,
        high=1,
        meaning="they are this much of all its overlaps",
    )
    customary_spread: float = quantity(
        1.2,
        unit="times the middle overlap",
        low=1,
        high=2,
        meaning="in such a track no overlap shorter than this holds a note, however fast the line",
    )
    varied_rhythm: float = quantity(
        1.5,
        unit="times",
        low=1,
        high=4,
        meaning="longer against shorter notes of a track, 80th against 20th percentile, from which"
        " equal overlaps cannot come from the rhythm",
    )


OVERLAP = OverlapParams()
_CLOCK_S = 1e-6


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
        for find in (_short_overlaps, _customary_overlaps):
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


def _customary_overlaps(line: _Line) -> tuple[NDArray[np.bool_], NDArray[np.float64]]:
    """Overlaps up to some tenths of a second that a line has at join after join.

    As many notes begin at one onset of a line as at the next; where fewer begin, a voice is held.
    """
    next_s = line.onset_at(line.group + 1)
    overlap_s = line.notes.release_s - next_s
    size = np.bincount(line.group, minlength=len(line.onset_s) + 1)
    overlaps = overlap_s > _CLOCK_S
    is_line = overlaps & (size[line.group] == size[line.group + 1])
    is_line &= overlap_s <= OVERLAP.customary_s + _CLOCK_S
    # Where nothing follows the next onset there is all the time in the world.
    room_s = np.where(np.isfinite(next_s), line.onset_at(line.group + 2), np.inf)
    room_s[overlaps] -= next_s[overlaps]
    is_small = overlap_s <= np.maximum(OVERLAP.customary_share * room_s, OVERLAP.customary_brief_s)
    found = is_line & is_small
    needed = max(OVERLAP.customary_overlaps, OVERLAP.customary_track_share * int(overlaps.sum()))
    if found.sum() >= needed:
        usual_s = OVERLAP.customary_spread * float(np.median(overlap_s[found]))
    elif is_line.sum() >= needed and _is_one_length(overlap_s[is_line], room_s[is_line]):
        usual_s = OVERLAP.customary_spread * float(np.median(overlap_s[is_line]))
    else:
        return found & _is_in_row(np.logical_or.reduceat(found, line.first))[line.group], next_s
    return found | (is_line & (overlap_s <= usual_s)), next_s


def _is_one_length(overlap_s: NDArray[np.float64], room_s: NDArray[np.float64]) -> bool:
    """Overlaps of one length under notes of many lengths: a sampler's time, not the music's."""
    usual_s = float(np.median(overlap_s))
    near = np.abs(overlap_s - usual_s) <= (OVERLAP.customary_spread - 1) * usual_s
    short_s, long_s = np.percentile(np.minimum(room_s, 60.0), (20, 80))
    is_varied = long_s >= OVERLAP.varied_rhythm * short_s
    return bool(near.mean() >= OVERLAP.customary_track_share and is_varied)


def _is_in_row(overlapping: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Onsets that overlap the next one, several in a row."""
    in_row = np.zeros(len(overlapping), np.bool_)
    for first, after in stretches(overlapping):
        in_row[first:after] = after - first >= OVERLAP.customary_joins
    return in_row


def _cut_struck_again(notes: Notes, group: NDArray[np.int64], heard: NDArray[np.float64]) -> None:
    """The same pitch struck again ends the note that was sounding."""
    order = np.lexsort((notes.onset_s, notes.pitch))
    now, later = order[:-1], order[1:]
    again = (notes.pitch[now] == notes.pitch[later]) & (group[later] > group[now])
    heard[now[again]] = np.minimum(heard[now[again]], notes.onset_s[later[again]])
