"""Vibrato, drift and standing bends of each note: what moves the pitch and is no slide."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.bend_spans import Spans, note_spans
from mockcheck.infer.smoothing import VIBRATO, SmoothCurve
from mockcheck.model.curves import Curve
from mockcheck.model.intonation import Intonation
from mockcheck.model.notes import Notes
from mockcheck.params import Params, quantity


class IntonationParams(Params):
    """What is vibrato and what is drift."""

    slowest_hz: float = quantity(
        3.5,
        unit="Hz",
        low=2,
        high=6,
        meaning="slower swings are a wobble of the pitch",
        source="vibrato of string players 4 to 7.5 Hz: MacLeod, vibrato lecture notes; the margin"
        " is common practice, no source",
    )
    fastest_hz: float = quantity(
        9,
        unit="Hz",
        low=7,
        high=15,
        meaning="faster ones are a trill or a fault",
        source="as above; 95 percent below 7.3 Hz: measured on transcribed recordings",
    )
    fewest_turns: float = quantity(
        3,
        unit="crossings of the middle",
        low=2,
        high=20,
        meaning="a swing and a half, away from the ends of the note; less is no vibrato",
    )
    most_uneven: float = quantity(
        0.25,
        unit="spread of the half swings over their mean",
        low=0.05,
        high=1,
        meaning="less even swings are corrections of the pitch",
    )
    narrowest_cents: float = quantity(
        8,
        unit="cents",
        low=2,
        high=30,
        meaning="narrower swings are the grain of a drawn curve",
    )
    widest_cents: float = quantity(
        200, unit="cents", low=60, high=400, meaning="wider ones are a trill by bend"
    )
    most_drift_cents: float = quantity(
        80,
        unit="cents",
        low=20,
        high=200,
        meaning="a wider slow move is no longer intonation",
        source="from here on a move counts as a slide",
    )


INTONATION = IntonationParams()
_ROOT_2 = 2**0.5
_NOISE_SHARE = 0.5
"""Of the middle deviation; what stays nearer to the trend does not count as a side of it."""


def find_intonation(notes: Notes, bends: Mapping[int, Curve]) -> Intonation:
    """The pitch of each note as level, drift and vibrato.

    Parameters
    ----------
    notes
        The music of one review row, in time order.
    bends
        Bend of each channel, cents.

    Returns
    -------
    Notes struck together on one channel share its bend. A note without bends stands at its key.

    Source: trend and residue as in the literature on vibrato (moving average over one period;
    crossings of the middle for the rate); the numbers in `IntonationParams`.
    Not modelled: vibrato drawn with a controller.
    """
    columns = np.zeros((4, len(notes)))
    spans = note_spans(notes, tuple(bends))
    for channel, bend in bends.items():
        own = np.flatnonzero(spans.channel == channel)
        if not len(own) or not len(bend):
            continue
        found = _of_channel(spans, own, bend)
        rows = np.flatnonzero(notes.channel == channel)
        # A note has the pitch of the last span that began with it or before.
        place = np.searchsorted(spans.begin_s[own], notes.onset_s[rows] + 1e-6, side="right") - 1
        columns[:, rows] = found[:, np.maximum(place, 0)]
    return Intonation(*columns)


def _of_channel(spans: Spans, own: NDArray[np.intp], bend: Curve) -> NDArray[np.float64]:
    """Level, drift, rate and width of each span of a channel, shape (4, spans)."""
    begin_s, end_s = spans.begin_s[own], spans.release_s[own]
    smooth = SmoothCurve(bend)
    middle, early, late = (
        smooth.at(at_s, begin_s, end_s, bend.value_at(at_s))
        for at_s in (begin_s + share * (end_s - begin_s) for share in (0.5, 0.25, 0.75))
    )
    # Half of the way is measured, where the average has room to both sides.
    drift = 2 * (late - early)
    drift = np.where(np.abs(drift) < INTONATION.most_drift_cents, drift, 0.0)
    rate, width = _vibrato(bend, smooth, begin_s, end_s)
    return np.stack([middle, drift, rate, width])


def _vibrato(
    bend: Curve,
    smooth: SmoothCurve,
    begin_s: NDArray[np.float64],
    end_s: NDArray[np.float64],
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Rate and width of the swings in each span; 0 where there is no vibrato."""
    # Near its ends the average is half the curve itself.
    reach_s = VIBRATO.period_s / 4
    first = np.searchsorted(bend.time_s, begin_s + reach_s)
    after = np.maximum(np.searchsorted(bend.time_s, end_s - reach_s), first)
    counts = after - first
    which = np.repeat(np.arange(len(begin_s)), counts)
    rows = np.repeat(first - np.cumsum(counts) + counts, counts) + np.arange(int(counts.sum()))
    if not len(rows):
        return np.zeros(len(begin_s)), np.zeros(len(begin_s))
    time_s, values = bend.time_s[rows], bend.values[rows]
    swing = values - smooth.at(time_s, begin_s[which], end_s[which], values)
    spread = np.sqrt(_mean_by(which, swing**2, len(begin_s)))
    aside = np.abs(swing) >= _NOISE_SHARE * spread[which]
    time_s, swing, which = time_s[aside], swing[aside], which[aside]
    turns = (np.sign(swing[1:]) != np.sign(swing[:-1])) & (which[1:] == which[:-1])
    crossed_s, crossing = (time_s[1:] + time_s[:-1])[turns] / 2, which[1:][turns]
    half_s, within = np.diff(crossed_s), crossing[1:][crossing[1:] == crossing[:-1]]
    half_s = half_s[crossing[1:] == crossing[:-1]]
    number = np.bincount(within, minlength=len(begin_s)) + 1
    mean_s = _mean_by(within, half_s, len(begin_s))
    uneven = np.sqrt(_mean_by(within, (half_s - mean_s[within]) ** 2, len(begin_s)))
    rate = np.divide(0.5, mean_s, out=np.zeros(len(begin_s)), where=mean_s > 0)
    # The average takes out a swing whole only at one rate; sinc says what it leaves of others.
    left_over = 1 - np.sinc(np.maximum(rate, INTONATION.slowest_hz) * VIBRATO.period_s)
    width = 2 * _ROOT_2 * spread / left_over
    is_vibrato = (
        (number >= INTONATION.fewest_turns)
        & (uneven <= INTONATION.most_uneven * mean_s)
        & (rate >= INTONATION.slowest_hz)
        & (rate <= INTONATION.fastest_hz)
        & (width >= INTONATION.narrowest_cents)
        & (width <= INTONATION.widest_cents)
    )
    return np.where(is_vibrato, rate, 0.0), np.where(is_vibrato, width, 0.0)


def _mean_by(
    which: NDArray[np.int64], values: NDArray[np.float64], count: int
) -> NDArray[np.float64]:
    total = np.bincount(which, values, minlength=count)
    return total / np.maximum(np.bincount(which, minlength=count), 1)
