"""How a key outside the range is pressed: as a note of a line, or beside the music.

A note of a line has a place of its own in the rhythm. A switch is tapped beside the notes: just
before one, with one but much shorter, or under one that is held.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.onsets import group_onsets
from mockcheck.infer.sonorities import find_sonorities
from mockcheck.model.columns import stretches
from mockcheck.model.notes import Notes
from mockcheck.params import Params, quantity


class PressParams(Params):
    """What a press beside the music looks like. Common practice, no source."""

    very_far_semitones: float = quantity(
        24,
        unit="semitones outside the range",
        low=12,
        high=48,
        meaning="farther out than this only a whole line in the wrong octave is music",
    )
    longest_tap_s: float = quantity(
        0.25, unit="s", low=0.05, high=1, meaning="a tapped switch is shorter"
    )
    longest_lead_s: float = quantity(
        0.25, unit="s", low=0.05, high=1, meaning="a switch is pressed this long before its note"
    )
    lead_share: float = quantity(
        0.3,
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
        meaning="a tap under a note is this much shorter than the note; a chord tone is not",
    )
    rest_s: float = quantity(
        0.25, unit="s", low=0.05, high=2, meaning="silence in which a key stands by itself"
    )
    most_chords: float = quantity(
        0.1,
        unit="share of the onsets of the music",
        low=0,
        high=1,
        meaning="where more notes sound together, a short note under a long one is music",
    )
    line_notes: float = quantity(
        3,
        unit="notes",
        low=2,
        high=12,
        meaning="so many notes in a row without another note are a line",
    )
    very_far_line_notes: float = quantity(
        6, unit="notes", low=2, high=24, meaning="the same, very far out, where switches lie"
    )


PRESS = PressParams()
_SAME_S = 0.035 + 1e-6
_CLOCK_S = 0.005
_FILLING_SHARE = 0.4
"""A note of a line sounds for at least so much of its place; staccato does (our choice)."""


@dataclass(frozen=True)
class Presses:
    """Notes outside the range, and how each stands to those inside it; arrays of shape (n,).

    `outside` is how far outside, in semitones. `is_beside` marks taps that no line or chord would
    have; a key held under the music is none, for a bass is held there too. `is_in_line` marks notes
    with a place of their own, `run_notes` counts those in a row.
    """

    pitch: NDArray[np.int64]
    outside: NDArray[np.int64]
    duration_s: NDArray[np.float64]
    is_beside: NDArray[np.bool_]
    is_in_line: NDArray[np.bool_]
    run_notes: NDArray[np.int64]

    @property
    def is_line(self) -> NDArray[np.bool_]:
        """A note of a line, alone among others or in a row; far out, only a longer row is one."""
        is_very_far = self.outside > PRESS.very_far_semitones
        needed = np.where(is_very_far, PRESS.very_far_line_notes, PRESS.line_notes)
        return (self.run_notes >= needed) | (self.is_in_line & ~is_very_far)


def describe_presses(
    notes: Notes,
    rows: NDArray[np.int64],
    outside: NDArray[np.int64],
    is_near: NDArray[np.bool_],
) -> Presses:
    """How notes outside the range stand in time to those inside it.

    Parameters
    ----------
    notes
        All notes of one row of the track list, in time order.
    rows, outside
        Those outside the range, and by how many semitones, shape (n,).
    is_near
        Those near enough to be wrong notes, shape (n,): among chords, a short one under a longer
        note is taken for a chord tone.
    """
    inside = np.ones(len(notes), np.bool_)
    inside[rows] = False
    music = notes.select(inside)
    around = _look_around(music, notes.select(rows))
    is_tap = _is_tap(around)
    if is_near.any() and _share_of_chords(music) > PRESS.most_chords:
        is_tap &= ~is_near | _comes_before_a_note(around)
    return Presses(
        pitch=notes.pitch[rows].astype(np.int64),
        outside=outside,
        duration_s=around.duration_s,
        is_beside=is_tap,
        is_in_line=_is_in_line(around) & ~is_tap,
        run_notes=_run_notes(around),
    )


@dataclass(frozen=True)
class _Surroundings:
    """For each press: the music that sounds before, with and after it; arrays of shape (n,).

    `sounding_until_s` is the latest release of notes begun before, `slot_s` the time between the
    onsets around, `partner_s` the duration of the notes struck with it, `onsets_under` counts
    the onsets while it is down. `is_alone_inside` tells that one held note covers the press and
    nothing else moves meanwhile.
    """

    onset_s: NDArray[np.float64]
    duration_s: NDArray[np.float64]
    next_row: NDArray[np.intp]
    next_s: NDArray[np.float64]
    slot_s: NDArray[np.float64]
    sounding_until_s: NDArray[np.float64]
    partner_s: NDArray[np.float64]
    onsets_under: NDArray[np.intp]
    is_alone_inside: NDArray[np.bool_]

    @property
    def is_together(self) -> NDArray[np.bool_]:
        """Struck with a note of the music."""
        together: NDArray[np.bool_] = self.next_s <= self.onset_s + _SAME_S
        return together

    @property
    def is_free(self) -> NDArray[np.bool_]:
        """No more than the usual overlap with what sounded before."""
        overlap_s = np.minimum(self.onset_s + self.duration_s, self.sounding_until_s) - self.onset_s
        free: NDArray[np.bool_] = overlap_s <= PRESS.lead_share * self.duration_s + _CLOCK_S
        return free


def _look_around(music: Notes, presses: Notes) -> _Surroundings:
    onset_s = music.onset_s
    next_row = np.searchsorted(onset_s, presses.onset_s - _SAME_S, side="left")
    next_s = np.append(onset_s, np.inf)[next_row]
    latest_s = np.maximum.accumulate(np.concatenate([[-np.inf], music.release_s]))
    after_onset = np.searchsorted(onset_s, presses.onset_s + _SAME_S, side="right")
    before_release = np.searchsorted(onset_s, presses.release_s - _SAME_S, side="left")
    # Of the notes struck with a press the first and the last stand for all.
    duration_s = np.append(music.duration_s, 0.0)
    last = np.maximum(after_onset - 1, np.minimum(next_row, len(music) - 1))
    return _Surroundings(
        onset_s=presses.onset_s,
        duration_s=presses.duration_s,
        next_row=next_row,
        next_s=next_s,
        slot_s=next_s - np.concatenate([[-np.inf], onset_s])[next_row],
        sounding_until_s=latest_s[next_row],
        partner_s=np.minimum(duration_s[next_row], duration_s[last]),
        onsets_under=np.maximum(before_release - after_onset, 0),
        is_alone_inside=_is_alone_inside(music, presses, next_row),
    )


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


def _comes_before_a_note(around: _Surroundings) -> NDArray[np.bool_]:
    """Pressed late in the time between two notes, and not in a place of its own."""
    lead_s = np.maximum(around.next_s - around.onset_s, 0.0)
    is_late = lead_s <= np.minimum(PRESS.longest_lead_s, PRESS.lead_share * around.slot_s)
    is_in_rest = around.onset_s - around.sounding_until_s >= PRESS.rest_s
    before: NDArray[np.bool_] = is_late & (~around.is_free | is_in_rest)
    return before


def _is_tap(around: _Surroundings) -> NDArray[np.bool_]:
    """Short, and beside the notes: with one, just before one, or alone under a held one."""
    is_short = around.duration_s <= PRESS.longest_tap_s
    under_partner = around.duration_s <= PRESS.shorter_share * around.partner_s
    is_aside = _comes_before_a_note(around) | around.is_alone_inside
    tap: NDArray[np.bool_] = is_short & np.where(around.is_together, under_partner, is_aside)
    return tap


def _is_in_line(around: _Surroundings) -> NDArray[np.bool_]:
    """In a place of its own between two notes, as long as that place."""
    place_s = around.next_s - around.sounding_until_s
    fills = around.duration_s >= _FILLING_SHARE * place_s
    in_line: NDArray[np.bool_] = around.is_free & fills & ~around.is_together
    in_line &= around.onsets_under == 0
    return in_line


def _share_of_chords(music: Notes) -> float:
    """How much of the music has notes that sound together, as double stops or voices do."""
    return float(np.mean(np.diff(find_sonorities(music).first) > 1))


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
