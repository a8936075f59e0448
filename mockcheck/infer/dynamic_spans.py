"""The dynamics of a track as a player would read them: held, or growing, or fading."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.dynamics import dynamic_name
from mockcheck.model.dynamics import DynamicsCurve
from mockcheck.model.played import PlayedPart
from mockcheck.params import Params, quantity


class SpanParams(Params):
    """What is one dynamic, and what is a change."""

    smooth_s: float = quantity(
        1.2,
        unit="s",
        low=0.1,
        high=10,
        meaning="what lasts for less than half of it is an accent, not a dynamic",
    )
    least_change: float = quantity(
        8,
        unit="steps of 127",
        low=1,
        high=64,
        meaning="half of one dynamic: a line that strays less from the curve says the same",
    )
    sudden_s: float = quantity(
        0.6, unit="s", low=0, high=5, meaning="a quicker change is a new dynamic, not a hairpin"
    )


PARAMS = SpanParams()
_STEP_S = 0.2


@dataclass(frozen=True)
class DynamicSpan:
    """A stretch with one mark: a dynamic, or a hairpin from one to another.

    Parameters
    ----------
    onset_ticks, release_ticks
        From where to where.
    onset_s, release_s
        The same in seconds.
    from_loudness, to_loudness
        Loudness 0-127 at either end; equal where it is held.
    """

    onset_ticks: int
    release_ticks: int
    onset_s: float
    release_s: float
    from_loudness: float
    to_loudness: float

    @property
    def words(self) -> str:
        """'p', or 'p, crescendo to f'; a swell inside one dynamic says only which way."""
        first, last = dynamic_name(self.from_loudness), dynamic_name(self.to_loudness)
        if self.from_loudness == self.to_loudness:
            return first
        way = "crescendo" if self.to_loudness > self.from_loudness else "diminuendo"
        return f"{first}, {way}" if first == last else f"{first}, {way} to {last}"


def dynamic_spans(part: PlayedPart, curve: DynamicsCurve) -> tuple[DynamicSpan, ...]:
    """A player reads few marks: a dynamic holds until the next, and a hairpin joins two.

    Parameters
    ----------
    part
        The part the curve is of.
    curve
        The loudness of one of its tracks.

    Returns
    -------
    Spans in order of time from the first onset of the track to its last release.

    Not modelled: accents and single notes that stand out, and where a phrase begins.
    """
    release_s = float(part.notes.release_s[part.track == curve.track].max())
    begin_s = float(curve.time_s[0])
    time_s = np.append(np.arange(begin_s, max(release_s, begin_s), _STEP_S), release_s)
    loudness = _without_accents(curve.value_at(time_s))
    pieces = _joined(_pieces(time_s, loudness))
    edges_s = np.array([edge for piece in pieces for edge in (piece.onset_s, piece.release_s)])
    ticks = part.timeline.tempo.ticks_at(edges_s).reshape(-1, 2).tolist()
    return tuple(
        DynamicSpan(first, last, piece.onset_s, piece.release_s, piece.first, piece.last)
        for (first, last), piece in zip(ticks, pieces, strict=True)
    )


@dataclass(frozen=True)
class _Piece:
    """A straight line: seconds and loudness at either end."""

    onset_s: float
    release_s: float
    first: float
    last: float

    @property
    def lasts_s(self) -> float:
        return self.release_s - self.onset_s

    @property
    def way(self) -> int:
        """1 growing, -1 fading, 0 held."""
        change = self.last - self.first
        return 0 if abs(change) < PARAMS.least_change else int(np.sign(change))


def _without_accents(loudness: NDArray[np.float64]) -> NDArray[np.float64]:
    """The median around each sample."""
    half = max(round(PARAMS.smooth_s / _STEP_S / 2), 1)
    padded = np.pad(loudness, half, mode="edge")
    windows = np.lib.stride_tricks.sliding_window_view(padded, 2 * half + 1)
    smooth: NDArray[np.float64] = np.median(windows, axis=1)
    return smooth


def _pieces(time_s: NDArray[np.float64], loudness: NDArray[np.float64]) -> list[_Piece]:
    """The fewest straight lines that stay near the curve, found by halving at the worst place.

    Source: D. Douglas and T. Peucker, Algorithms for the reduction of the number of points (1973).
    """
    knots, open_spans = {0, len(time_s) - 1}, [(0, len(time_s) - 1)]
    while open_spans:
        first, last = open_spans.pop()
        if last - first < 2:
            continue
        inside = slice(first, last + 1)
        ends = time_s[[first, last]], loudness[[first, last]]
        off = np.abs(loudness[inside] - np.interp(time_s[inside], *ends))
        worst = first + int(off.argmax())
        if off[worst - first] >= PARAMS.least_change:
            knots.add(worst)
            open_spans += [(first, worst), (worst, last)]
    places = sorted(knots)
    return [
        _Piece(
            float(time_s[first]), float(time_s[last]), float(loudness[first]), float(loudness[last])
        )
        for first, last in pairwise(places)
    ]


def _joined(pieces: list[_Piece]) -> list[_Piece]:
    """Neighbours that say the same as one; a sudden change belongs to what comes after it."""
    joined: list[_Piece] = []
    begin_s: float | None = None
    for piece in pieces:
        if piece.way and piece.lasts_s <= PARAMS.sudden_s and piece is not pieces[-1]:
            begin_s = piece.onset_s if begin_s is None else begin_s
            continue
        onset_s = piece.onset_s if begin_s is None else begin_s
        begin_s = None
        level = (piece.first + piece.last) / 2
        first, last = (piece.first, piece.last) if piece.way else (level, level)
        one = _Piece(onset_s, piece.release_s, first, last)
        if joined and _say_the_same(joined[-1], one):
            joined[-1] = _together(joined[-1], one)
        else:
            joined.append(one)
    return joined


def _say_the_same(before: _Piece, after: _Piece) -> bool:
    if before.way or after.way:
        return before.way == after.way
    return abs(after.first - before.first) < PARAMS.least_change


def _together(before: _Piece, after: _Piece) -> _Piece:
    if before.way:
        return _Piece(before.onset_s, after.release_s, before.first, after.last)
    lasts_s = np.array([before.lasts_s, after.lasts_s])
    level = float(np.average([before.first, after.first], weights=lasts_s + 1e-9))
    return _Piece(before.onset_s, after.release_s, level, level)
