"""How far a wheel bends when the file does not say: the range at which its slides reach notes."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.bend_spans import next_spans, note_spans, values_at
from mockcheck.infer.bends import assumed_range, bend_curve
from mockcheck.infer.pitch_lines import LINES
from mockcheck.model.curves import Curve
from mockcheck.model.notes import Notes
from mockcheck.model.played import BendRange, Role
from mockcheck.model.score import Track
from mockcheck.params import Params, quantity


class BendRangeParams(Params):
    """When the jumps of a wheel agree on a range."""

    least_share: float = quantity(
        0.6,
        unit="share of the jumps",
        low=0.3,
        high=1,
        meaning="so many must fit one range",
    )
    fewest: float = quantity(4, unit="jumps", low=2, high=50, meaning="fewer that fit are chance")
    fits_share: float = quantity(
        0.08,
        unit="share of the range",
        low=0.01,
        high=0.15,
        meaning="a jump this near to a range fits it; the nearest two of the usual ranges differ"
        " by a sixth",
    )
    wide_share: float = quantity(
        0.15,
        unit="share of the widest jump",
        low=0.02,
        high=0.5,
        meaning="narrower jumps are vibrato broken off at a change of notes",
    )
    most_trust: float = quantity(
        0.9, unit="confidence", low=0, high=1, meaning="a range found so is never quite sure"
    )


GUESS = BendRangeParams()
USUAL_RANGES = (1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 12, 14, 18, 24, 36, 48, 60, 72, 96)
"""Semitones. MIDI allows any; these are what instruments offer. Common practice, no source."""
_LEAST_INTERVAL_CENTS = 100
_LEAST_JUMP_CENTS = 3


def find_bend_range(notes: Notes, role: Role, track: Track) -> BendRange | None:
    """Where a slide is drawn with the bend, key and wheel jump against each other at the onset.

    The wheel's jump is the interval, in the unit of its range; when most jumps agree, the range
    is known.

    Parameters
    ----------
    notes
        The music of one review row, in time order.

    Returns
    -------
    The range of the channels that bend without having sent one; None when all have sent it, or
    too few jumps agree.

    Not modelled: wheels of different ranges in one row.
    """
    bends = {
        channel: bend_curve(track, channel, None)
        for channel in role.channels
        if track.curves(channel).bend_range_assumed and len(track.curves(channel).bend_cents)
    }
    if not bends or len(notes) < 2:
        return None
    interval, jump = _jumps(notes, bends)
    if not len(jump):
        return None
    ranges = -assumed_range(track, next(iter(bends))) * interval / jump
    usual = np.array(USUAL_RANGES, np.float64)
    off = np.abs(ranges[:, None] / usual - 1)
    nearest = off.argmin(axis=1)
    fits = off[np.arange(len(off)), nearest] <= GUESS.fits_share
    votes = np.bincount(nearest[fits], minlength=len(usual))
    best = int(votes.argmax())
    count, total = int(votes[best]), len(jump)
    # One interval again and again could be a wheel that always goes to its end.
    kinds = len(np.unique(np.abs(interval[fits & (nearest == best)])))
    if count < GUESS.fewest or count < GUESS.least_share * total or kinds < 2:
        return None
    return BendRange(
        track=role.index,
        semitones=float(usual[best]),
        confidence=round(min((count + 1) / (total + 2), GUESS.most_trust), 3),
        evidence=f"{count} of {total} slides reach their notes with a range of {usual[best]:.0f}"
        " semitones",
    )


def _jumps(
    notes: Notes, bends: Mapping[int, Curve]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Interval and jump of the wheel, cents, at the joins where it jumps widely."""
    spans = note_spans(notes, tuple(bends))
    left, right = next_spans(spans)
    onset_s = spans.begin_s[right]
    interval = 100 * (spans.pitch[right] - spans.pitch[left])
    leaves = [
        values_at(spans, bends, left, onset_s - early_s, side="left")
        for early_s in (0.0, LINES.reset_s)
    ]
    takes = [
        values_at(spans, bends, right, onset_s + late_s, side="right")
        for late_s in (0.0, LINES.reset_s)
    ]
    # A wheel is put into place at the onset, or a little before or after it.
    jumps = np.array([takes[0] - leaves[0], takes[0] - leaves[1], takes[1] - leaves[0]])
    jump = jumps[np.abs(jumps).argmax(axis=0), np.arange(len(left))]
    widest = float(np.max(np.abs(jump), initial=0.0))
    least = max(_LEAST_JUMP_CENTS, GUESS.wide_share * widest)
    chosen = (np.abs(interval) >= _LEAST_INTERVAL_CENTS) & (np.abs(jump) >= least)
    return interval[chosen], jump[chosen]
