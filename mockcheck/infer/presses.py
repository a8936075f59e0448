"""How a key outside the range is pressed: as a note of a line, or beside the music.

A note of a line has a place of its own in the rhythm, a note of a chord begins and ends with it.
A switch is tapped just before a note or with one, or goes down before the notes it is for and
comes up in the middle of one.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.onsets import group_onsets
from mockcheck.model.columns import stretches
from mockcheck.model.notes import Notes
from mockcheck.params import Params, quantity


class PressParams(Params):
    """What tells the manners of a press apart. Common practice, no source."""

    longest_tap_s: float = quantity(
        0.25, unit="s", low=0.05, high=1, meaning="a tapped switch is shorter"
    )
    longest_lead_s: float = quantity(
        0.25, unit="s", low=0.05, high=1, meaning="a switch is tapped this long before its note"
    )
    shortly_s: float = quantity(
        0.1, unit="s", low=0.02, high=0.25, meaning="just before or just after a note is within"
    )
    lead_share: float = quantity(
        0.4,
        unit="share of the time between the notes around it",
        low=0.1,
        high=0.5,
        meaning="a switch is pressed late in that time; a note of a line has its beat",
    )
    shorter_share: float = quantity(
        0.5,
        unit="share of the note it is pressed with",
        low=0.1,
        high=0.9,
        meaning="a tap with a note is this much shorter than the note; a chord tone is not",
    )
    rest_s: float = quantity(
        0.25, unit="s", low=0.05, high=2, meaning="silence in which a key stands by itself"
    )
    sparse_share: float = quantity(
        0.15,
        unit="share of the time to the next press",
        low=0.01,
        high=0.5,
        meaning="a voice of the music sounds for more of its time, switches and slips hardly do",
    )
    alike_factor: float = quantity(
        1.1, unit="ratio", low=1, high=1.5, meaning="lengths this close are one length"
    )
    line_notes: float = quantity(
        3, unit="notes", low=2, high=12, meaning="so many in a row without another note are a line"
    )


PRESS = PressParams()
_SAME_S = 0.035 + 1e-6
_EXACT_S = 0.003
_EDGE_S = 0.02
_CLOCK_S, _SHORTEST_S = 0.005, 1e-3
_FILLING_SHARE = 0.4
"""A note of a line sounds for at least so much of its place; staccato does (our choice)."""
_OVERLAP_SHARE = 0.3
_SAME_LENGTH_SHARE = 0.1
_MOST_EXAMPLES, _LEAST_STEP = 100, 5


class Manner(IntEnum):
    """How one press stands to the notes of the music; the order is that of `MANNERS`."""

    IN_LINE = 0
    TAPPED_BEFORE = 1
    HELD_BEFORE = 2
    AFTER = 3
    TAPPED_WITH = 4
    ENDS_WITH = 5
    ENDS_INSIDE = 6
    TAPPED_APART = 7
    OTHER = 8


MANNERS = (
    "in a place of its own in the rhythm",
    "just before a note",
    "just before a note and held over it",
    "just after a note",
    "with a much longer note",
    "with a note, ending where notes do",
    "with a note, ending inside one",
    "in a rest or under a held note",
    "anyhow among the notes",
)


@dataclass(frozen=True)
class Presses:
    """Notes outside the range, and how each stands to those inside it; arrays of shape (n,).

    `outside` is how far outside, in semitones; `manner` holds codes of `Manner`. `is_sparse` marks
    those after which the next press is long in coming, `length_share` is the share of notes inside
    the range that are as long, never quite 0 or 1. `own_manners` counts the manners of some notes
    inside the range, each looked at as if it lay outside, shape (len(Manner),): a slip of the
    finger is such a note.
    """

    pitch: NDArray[np.int64]
    outside: NDArray[np.int64]
    duration_s: NDArray[np.float64]
    manner: NDArray[np.int8]
    is_sparse: NDArray[np.bool_]
    length_share: NDArray[np.float64]
    own_manners: NDArray[np.int64]


def describe_presses(notes: Notes, rows: NDArray[np.int64], outside: NDArray[np.int64]) -> Presses:
    """How notes outside the range stand in time to those inside it.

    Parameters
    ----------
    notes
        All notes of one row of the track list, in time order.
    rows, outside
        Those outside the range, and by how many semitones, shape (n,).
    """
    inside = np.ones(len(notes), np.bool_)
    inside[rows] = False
    music = notes.select(inside)
    around = _look_around(music, notes.select(rows))
    duration_s = np.maximum(around.duration_s, _SHORTEST_S)
    to_next_s = np.diff(around.onset_s, append=np.inf)
    return Presses(
        pitch=notes.pitch[rows].astype(np.int64),
        outside=outside,
        duration_s=duration_s,
        manner=_manner(around),
        is_sparse=duration_s <= PRESS.sparse_share * to_next_s,
        length_share=_length_share(music, duration_s),
        own_manners=_own_manners(music),
    )


def _own_manners(music: Notes) -> NDArray[np.int64]:
    step = max(len(music) // _MOST_EXAMPLES, _LEAST_STEP)
    is_example = np.zeros(len(music), np.bool_)
    is_example[step // 2 :: step] = True
    around = _look_around(music.select(~is_example), music.select(is_example))
    return np.bincount(_manner(around), minlength=len(Manner)).astype(np.int64)


def _length_share(music: Notes, duration_s: NDArray[np.float64]) -> NDArray[np.float64]:
    lengths = np.sort(music.duration_s)
    first = np.searchsorted(lengths, duration_s / PRESS.alike_factor, side="left")
    after = np.searchsorted(lengths, duration_s * PRESS.alike_factor, side="right")
    # Laplace's rule: what was not seen may yet come.
    return (after - first + 1) / (len(lengths) + 5)


def _manner(around: _Surroundings) -> NDArray[np.int8]:
    is_short = around.duration_s <= PRESS.longest_tap_s
    # Keys of one chord are pressed as one, but by hand not at one moment.
    is_exact = (np.minimum(around.lead_s, around.since_s) <= _EXACT_S) | around.ends_with_partner
    close_s = np.minimum(PRESS.shortly_s, PRESS.lead_share * around.slot_s)
    is_before = ~is_exact & (around.lead_s <= close_s)
    is_after = ~is_exact & ~is_before & (around.since_s <= close_s)
    is_much_shorter = around.duration_s <= PRESS.shorter_share * around.partner_s
    # Pressed and let go before the music begins.
    is_ahead = ~np.isfinite(around.since_s) & (around.lead_s >= around.duration_s)
    is_line = (_is_in_line(around) | (_run_notes(around) >= PRESS.line_notes)) & ~is_exact
    return np.select(
        [
            is_line,
            is_before & is_short,
            is_before,
            is_after,
            is_exact & is_short & is_much_shorter,
            is_exact & (~around.ends_inside | around.ends_with_partner),
            is_exact,
            is_short & (_comes_in_time(around) | around.is_alone_inside) | is_ahead,
        ],
        [
            Manner.IN_LINE,
            Manner.TAPPED_BEFORE,
            Manner.HELD_BEFORE,
            Manner.AFTER,
            Manner.TAPPED_WITH,
            Manner.ENDS_WITH,
            Manner.ENDS_INSIDE,
            Manner.TAPPED_APART,
        ],
        Manner.OTHER,
    ).astype(np.int8)


@dataclass(frozen=True)
class _Surroundings:
    """For each press: the music that sounds before, with and after it; arrays of shape (n,).

    `lead_s` is the time to the next onset, `since_s` from the last one, zero for one at that very
    moment. `sounding_until_s` is the latest release of notes begun before, `partner_s` the duration
    of the notes struck with it; `ends_with_partner` tells that one of them is as long.
    `onsets_under` counts the onsets while it is down. `ends_inside` tells that it is released while
    the music sounds and no note begins or ends; `is_alone_inside` that one held note covers the
    press and nothing else moves meanwhile.
    """

    onset_s: NDArray[np.float64]
    duration_s: NDArray[np.float64]
    next_row: NDArray[np.intp]
    next_s: NDArray[np.float64]
    lead_s: NDArray[np.float64]
    since_s: NDArray[np.float64]
    sounding_until_s: NDArray[np.float64]
    partner_s: NDArray[np.float64]
    ends_with_partner: NDArray[np.bool_]
    onsets_under: NDArray[np.intp]
    ends_inside: NDArray[np.bool_]
    is_alone_inside: NDArray[np.bool_]

    @property
    def slot_s(self) -> NDArray[np.float64]:
        """Time between the onsets around it."""
        return self.lead_s + self.since_s

    @property
    def is_together(self) -> NDArray[np.bool_]:
        """Struck with a note of the music."""
        together: NDArray[np.bool_] = self.next_s <= self.onset_s + _SAME_S
        return together

    @property
    def is_free(self) -> NDArray[np.bool_]:
        """No more than the usual overlap with what sounded before."""
        overlap_s = np.minimum(self.onset_s + self.duration_s, self.sounding_until_s) - self.onset_s
        free: NDArray[np.bool_] = overlap_s <= _OVERLAP_SHARE * self.duration_s + _CLOCK_S
        return free


def _look_around(music: Notes, presses: Notes) -> _Surroundings:
    begin_s, end_s, onset_s = presses.onset_s, presses.release_s, music.onset_s
    next_row = np.searchsorted(onset_s, begin_s - _SAME_S, side="left")
    after_onset = np.searchsorted(onset_s, begin_s + _SAME_S, side="right")
    before_release = np.searchsorted(onset_s, end_s - _SAME_S, side="left")
    latest_s = np.maximum.accumulate(np.concatenate([[-np.inf], music.release_s]))
    ahead = np.searchsorted(onset_s, begin_s - 1e-6, side="left")
    behind = np.searchsorted(onset_s, begin_s + 1e-6, side="right")
    # Of the notes struck with a press the first and the last stand for all.
    duration_s = np.append(music.duration_s, 0.0)
    last = np.maximum(after_onset - 1, np.minimum(next_row, len(music) - 1))
    release_s = np.append(music.release_s, np.inf)
    tolerance_s = np.maximum(_EDGE_S, _SAME_LENGTH_SHARE * presses.duration_s)

    def is_alike(partner: NDArray[np.intp]) -> NDArray[np.bool_]:
        alike: NDArray[np.bool_] = np.abs(release_s[partner] - end_s) <= tolerance_s
        return alike

    return _Surroundings(
        onset_s=begin_s,
        duration_s=presses.duration_s,
        next_row=next_row,
        next_s=np.append(onset_s, np.inf)[next_row],
        lead_s=np.append(onset_s, np.inf)[ahead] - begin_s,
        since_s=begin_s - np.concatenate([[-np.inf], onset_s])[behind],
        sounding_until_s=latest_s[next_row],
        partner_s=np.minimum(duration_s[next_row], duration_s[last]),
        ends_with_partner=(after_onset > next_row) & (is_alike(next_row) | is_alike(last)),
        onsets_under=np.maximum(before_release - after_onset, 0),
        ends_inside=_ends_inside(music, end_s),
        is_alone_inside=_is_alone_inside(music, presses, next_row),
    )


def _ends_inside(music: Notes, end_s: NDArray[np.float64]) -> NDArray[np.bool_]:
    edges = np.sort(np.concatenate([music.onset_s, music.release_s]))
    around = np.concatenate([[-np.inf], edges, [np.inf]])
    after = np.searchsorted(edges, end_s)
    is_at_edge = np.minimum(end_s - around[after], around[after + 1] - end_s) <= _EDGE_S
    latest_s = np.maximum.accumulate(np.concatenate([[-np.inf], music.release_s]))
    sounds = latest_s[np.searchsorted(music.onset_s, end_s)] > end_s
    inside: NDArray[np.bool_] = sounds & ~is_at_edge
    return inside


def _is_alone_inside(music: Notes, presses: Notes, next_row: NDArray[np.intp]) -> NDArray[np.bool_]:
    release_s = np.concatenate([[-np.inf], music.release_s])
    is_longest = release_s >= np.maximum.accumulate(release_s)
    longest = np.maximum.accumulate(np.where(is_longest, np.arange(len(release_s)), 0))
    holder = np.maximum(longest[next_row] - 1, 0)
    begin_s, end_s = music.onset_s[holder], music.release_s[holder]
    first = np.searchsorted(music.onset_s, begin_s - _SAME_S, side="left")
    after = np.searchsorted(music.onset_s, end_s - _SAME_S, side="left")
    covers = (end_s >= presses.release_s - _CLOCK_S) & (next_row > 0)
    is_small = presses.duration_s <= PRESS.shorter_share * (end_s - begin_s)
    alone: NDArray[np.bool_] = covers & is_small & (after - first == 1)
    return alone


def _comes_in_time(around: _Surroundings) -> NDArray[np.bool_]:
    """Pressed late in the time between two notes, and not in a place of its own."""
    is_late = around.lead_s <= np.minimum(PRESS.longest_lead_s, PRESS.lead_share * around.slot_s)
    is_in_rest = around.onset_s - around.sounding_until_s >= PRESS.rest_s
    in_time: NDArray[np.bool_] = is_late & (~around.is_free | is_in_rest)
    return in_time


def _is_in_line(around: _Surroundings) -> NDArray[np.bool_]:
    """In a place of its own between two notes, as long as that place."""
    place_s = around.next_s - around.sounding_until_s
    fills = around.duration_s >= _FILLING_SHARE * place_s
    in_line: NDArray[np.bool_] = around.is_free & fills & ~around.is_together
    in_line &= around.onsets_under == 0
    return in_line


def _run_notes(around: _Surroundings) -> NDArray[np.int64]:
    """Onsets in the row that each press is part of, uninterrupted and unaccompanied by music."""
    group = group_onsets(around.onset_s, around.onset_s + around.duration_s)
    is_new = np.diff(group, prepend=-1) > 0
    is_free = around.is_free
    goes_on = is_free & (np.diff(around.next_row, prepend=-1) == 0)
    run_notes = np.zeros(len(group), np.int64)
    for first, after in stretches(goes_on):
        run_notes[first - 1 : after] = int(is_new[first - 1 : after].sum())
    return np.where(is_free, run_notes, 0)
