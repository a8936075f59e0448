"""What of a line is one onset on the page: chords, broken chords, and grace notes before a note."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.model.notes import Notes
from mockcheck.params import Params, quantity


class OnsetParams(Params):
    """When notes are written at one place."""

    chord_gap_s: float = quantity(
        0.09,
        unit="s",
        low=0.02,
        high=0.15,
        meaning="notes of a chord follow each other within this, even rolled or played unevenly",
        source="two onsets each off by 30 ms (standard deviation) are nearer in 97 of 100 cases",
    )
    chord_span_s: float = quantity(
        0.18, unit="s", low=0.05, high=0.5, meaning="first to last note of a rolled chord"
    )
    chord_share: float = quantity(
        0.6,
        unit="share of the shorter note",
        low=0.3,
        high=1,
        meaning="notes of a chord sound together at least this long; of a slur they only touch",
    )
    rolled_s: float = quantity(
        0.05,
        unit="s",
        low=0.02,
        high=0.2,
        meaning="rising (or falling) chords spread more are rolled",
    )
    grace_s: float = quantity(
        0.08, unit="s", low=0.02, high=0.15, meaning="a grace note leads on within this"
    )
    grace_share: float = quantity(
        0.3,
        unit="share of the gap before it, and of the note after it",
        low=0.1,
        high=0.6,
        meaning="a grace note is this much shorter than what is around it",
    )
    grace_beats: float = quantity(
        0.11,
        unit="beats",
        low=0.05,
        high=0.2,
        meaning="a longer one can be written in full, as a demisemiquaver",
    )


ONSETS = OnsetParams()


@dataclass(frozen=True)
class LineOnsets:
    """Onsets of one line that have a place on the page.

    Parameters
    ----------
    ticks
        When each is played, shape (m,), rising: the middle of a chord, the first of a rolled one.
    of_note
        Onset that each note of the line belongs to, shape (n,); a grace note to the next.
    kind
        Codes into `ONSET_KINDS`, shape (n,).
    """

    ticks: NDArray[np.float64]
    of_note: NDArray[np.int64]
    kind: NDArray[np.int8]


def find_onsets(notes: Notes, is_quantised: bool, beat_s: float) -> LineOnsets:
    """Chords are one onset; grace notes have none of their own.

    Parameters
    ----------
    notes
        One line.
    is_quantised
        Only notes on the same tick are a chord, and nothing is a grace note.
    beat_s
        Length of a beat, s.
    """
    onset_s = notes.onset_s
    if not len(notes):
        return LineOnsets(np.empty(0), np.empty(0, np.int64), np.empty(0, np.int8))
    begins = np.diff(notes.onset_ticks, prepend=-1) > 0
    if not is_quantised:
        begins = _chord_begins(notes)
    group = np.cumsum(begins) - 1
    first = np.flatnonzero(begins)
    after = np.append(first[1:], len(notes))
    size = after - first
    ticks = np.add.reduceat(notes.onset_ticks.astype(np.float64), first) / size
    kind = np.zeros(len(notes), np.int8)
    for chord in np.flatnonzero(onset_s[after - 1] - onset_s[first] > ONSETS.rolled_s).tolist():
        rows = np.arange(first[chord], after[chord])
        steps = np.diff(notes.pitch[rows])
        if len(rows) > 2 and (np.all(steps > 0) or np.all(steps < 0)):
            kind[rows[1:]] = 2
            ticks[chord] = notes.onset_ticks[rows[0]]
    if is_quantised:
        return LineOnsets(ticks, group, kind)
    is_grace = _is_grace(notes, first, after, beat_s)
    kind[np.isin(group, np.flatnonzero(is_grace))] = 1
    # A grace note belongs to the next onset that stays.
    kept: NDArray[np.int64] = np.cumsum(~is_grace) - (~is_grace).astype(np.int64)
    return LineOnsets(ticks[~is_grace], kept[group], kind)


def _chord_begins(notes: Notes) -> NDArray[np.bool_]:
    gap_s = np.diff(notes.onset_s)
    duration_s = np.maximum(notes.duration_s, 1e-6)
    shorter_s = np.minimum(duration_s[:-1], duration_s[1:])
    together_s = np.minimum(notes.release_s[:-1], notes.release_s[1:]) - notes.onset_s[1:]
    is_chord = (gap_s <= ONSETS.chord_gap_s) & (together_s >= ONSETS.chord_share * shorter_s)
    is_chord &= notes.pitch[1:] != notes.pitch[:-1]
    begins = np.concatenate([np.ones(1, np.bool_), ~is_chord | (gap_s > ONSETS.chord_span_s)])
    begins[1:] &= gap_s > 0
    start_s = notes.onset_s[np.flatnonzero(begins)][np.cumsum(begins) - 1]
    begins |= notes.onset_s - start_s > ONSETS.chord_span_s
    return begins


def _is_grace(
    notes: Notes, first: NDArray[np.int64], after: NDArray[np.int64], beat_s: float
) -> NDArray[np.bool_]:
    is_grace = np.zeros(len(first), np.bool_)
    if len(first) < 2:
        return is_grace
    onset_s = notes.onset_s[first]
    gap_s = np.append(np.diff(onset_s), np.inf)
    before_s = np.concatenate([[np.inf], gap_s[:-1]])
    next_s = np.append(gap_s[1:], 0.0)
    most_s = min(ONSETS.grace_s, ONSETS.grace_beats * beat_s)
    is_grace = gap_s <= most_s
    is_grace &= (gap_s <= ONSETS.grace_share * before_s) & (gap_s <= ONSETS.grace_share * next_s)
    # What goes on sounding under the next note is a voice, not an ornament.
    is_grace &= (notes.duration_s[first] <= 2 * gap_s) & (after - first == 1)
    return is_grace
