"""How a line is played about its notation: early or late as a whole, swung, evenly or not."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.model.written import BeatGrid
from mockcheck.params import Params, quantity


class PlayingParams(Params):
    """What counts as playing."""

    first_jitter_s: float = quantity(
        0.02,
        unit="s",
        low=0.005,
        high=0.05,
        meaning="standard deviation of playing before anything is known of it",
        source="10 to 30 ms about a click, from memory",
    )
    least_jitter_s: float = quantity(
        0.005, unit="s", low=0.001, high=0.02, meaning="no hand is more even than this"
    )
    most_jitter_s: float = quantity(
        0.045, unit="s", low=0.02, high=0.1, meaning="less even playing cannot be told from rhythm"
    )
    quantised_share: float = quantity(
        0.9,
        unit="share of the onsets",
        low=0.5,
        high=1,
        meaning="more than this on the grid were put there by a machine",
        source="parts of published quartets as exported 96 to 100 %, as played at most 64 %",
    )
    exact_s: float = quantity(
        0.002, unit="s", low=0, high=0.01, meaning="onsets this near the grid are on it"
    )
    most_by_chance: float = quantity(
        0.6,
        unit="share of the beat",
        low=0.1,
        high=0.8,
        meaning="a grid that is this near to any place tells nothing",
    )
    late_most_s: float = quantity(
        0.13, unit="s", low=0, high=0.3, meaning="a part moved further is not late but elsewhere"
    )
    late_most_beats: float = quantity(
        0.2,
        unit="beats",
        low=0.05,
        high=0.24,
        meaning="further off, and it is a part that plays off the beat",
    )
    drawn_share: float = quantity(
        0.25,
        unit="share of the onsets",
        low=0.05,
        high=1,
        meaning="with more onsets than this exactly on beats and halves, a part is not late as a"
        " whole, whatever the others do",
    )
    late_agreement: float = quantity(
        0.35,
        unit="length of the mean vector, 0-1",
        low=0.1,
        high=1,
        meaning="onsets that agree this much on a distance past half beats show a part moved",
    )
    late_onsets: float = quantity(
        16, unit="onsets", low=4, high=100, meaning="fewer are early or late each for itself"
    )
    swing_least: float = quantity(
        0.54, unit="share of the beat", low=0.5, high=0.6, meaning="less uneven halves are even"
    )
    swing_most: float = quantity(
        0.64,
        unit="share of the beat",
        low=0.6,
        high=0.7,
        meaning="more uneven halves are written as a triplet",
    )
    swing_pairs: float = quantity(
        16, unit="pairs", low=4, high=100, meaning="fewer pairs of uneven halves are chance"
    )
    swing_even: float = quantity(
        0.05,
        unit="share of the beat",
        low=0.01,
        high=0.1,
        meaning="pairs that differ more than this (median) are not one way of playing",
    )


PLAYING = PlayingParams()
_GRIDS = ((48, 32, 5, 7), (48,), (12, 8, 5, 7), (12, 8), (4, 3))
"""Parts of a beat, finest first: with coarse ticks or at a fast tempo a fine grid is everywhere."""
_QUANTISED_JITTER_S = 0.003
_ON_BEAT = 0.2
_NORMAL_MAD = 1.4826


@dataclass(frozen=True)
class Playing:
    """`late_s` and `jitter_s` in seconds; `swing` is where the second half of a beat is played.

    `is_drawn` where so much lies exactly on the beat that the part as a whole is not late.
    """

    is_quantised: bool
    is_drawn: bool
    jitter_s: float
    late_s: float
    swing: float


def find_playing(ticks: NDArray[np.float64], grid: BeatGrid) -> Playing:
    """How a line is played, as far as its onsets alone can tell; ticks rising, shape (n,)."""
    beat = np.maximum(np.searchsorted(grid.ticks, ticks, side="right") - 1, 0)
    within = (ticks - grid.ticks[beat]) / grid.unit_ticks[beat]
    # Exports round by a tick.
    near = np.maximum(PLAYING.exact_s / grid.seconds[beat], 1.01 / grid.unit_ticks[beat])
    if _is_on_a_grid(within, near):
        return Playing(True, True, _QUANTISED_JITTER_S, 0.0, 0.5)
    swing, past_beat = _find_swing(ticks, grid)
    late_s = _late_s(within, grid.seconds[beat])
    if len(past_beat):
        late_s = float(np.median(past_beat) * np.median(grid.seconds[beat]))
    is_drawn = bool(np.mean(_is_exact(within, near, (2,))) >= PLAYING.drawn_share)
    return Playing(False, is_drawn, PLAYING.first_jitter_s, 0.0 if is_drawn else late_s, swing)


def jitter_of(deviation_s: NDArray[np.float64]) -> float:
    """Standard deviation of playing, from deviations of which some may be misread."""
    if not len(deviation_s):
        return PLAYING.first_jitter_s
    spread = _NORMAL_MAD * float(np.median(np.abs(deviation_s - np.median(deviation_s))))
    return min(max(spread, PLAYING.least_jitter_s), PLAYING.most_jitter_s)


def straightened(
    ticks: NDArray[np.float64], grid: BeatGrid, playing: Playing
) -> NDArray[np.float64]:
    """Onsets as if nobody were early or late as a whole, and halves of a beat were even."""
    beat = np.maximum(np.searchsorted(grid.ticks, ticks, side="right") - 1, 0)
    per_second = grid.unit_ticks[beat] / grid.seconds[beat]
    moved = np.maximum(ticks - playing.late_s * per_second, 0.0)
    if playing.swing == 0.5:
        return moved
    beat = np.maximum(np.searchsorted(grid.ticks, moved, side="right") - 1, 0)
    within = (moved - grid.ticks[beat]) / grid.unit_ticks[beat]
    even = np.interp(within, [0.0, playing.swing, 1.0], [0.0, 0.5, 1.0])
    even = np.where(grid.is_compound[beat], within, even)
    result: NDArray[np.float64] = grid.ticks[beat] + even * grid.unit_ticks[beat]
    return result


def _is_on_a_grid(within: NDArray[np.float64], near: NDArray[np.float64]) -> bool:
    """Nearly all onsets on the finest grid that a hand would not hit half the time by chance."""
    anywhere = np.linspace(0, 1, 997)
    usual_near = np.full(len(anywhere), np.median(near))
    for parts in _GRIDS:
        if np.mean(_is_exact(anywhere, usual_near, parts)) <= PLAYING.most_by_chance:
            return bool(np.mean(_is_exact(within, near, parts)) >= PLAYING.quantised_share)
    return False


def _is_exact(
    within: NDArray[np.float64], near: NDArray[np.float64], parts_of_beat: Sequence[int]
) -> NDArray[np.bool_]:
    """Onsets that lie this near to one of these parts of the beat."""
    off = [np.abs(within - np.rint(within * parts) / parts) for parts in parts_of_beat]
    is_exact: NDArray[np.bool_] = np.minimum.reduce(off) <= near
    return is_exact


def _late_s(within: NDArray[np.float64], beat_s: NDArray[np.float64]) -> float:
    """The distance past half beats on which onsets agree; 0 where they do not."""
    vector = np.exp(4j * np.pi * within).mean()
    if len(within) < PLAYING.late_onsets or abs(vector) < PLAYING.late_agreement:
        return 0.0
    late_beats = float(np.angle(vector)) / (4 * np.pi)
    late_s = late_beats * float(np.median(beat_s))
    is_playing = abs(late_beats) <= PLAYING.late_most_beats and abs(late_s) <= PLAYING.late_most_s
    return late_s if is_playing else 0.0


def _find_swing(ticks: NDArray[np.float64], grid: BeatGrid) -> tuple[float, NDArray[np.float64]]:
    """Where the second of two notes in a beat is played, 0.5 where halves are even.

    Also how far past their beat the first ones are, beats. Told from the distance between the two,
    so that a part that is early or late as a whole swings all the same.
    """
    early = np.maximum(np.searchsorted(grid.ticks, ticks, side="right") - 1, 0)
    within = (ticks - grid.ticks[early]) / grid.unit_ticks[early]
    is_next = within > 1 - _ON_BEAT
    beat, within = early + is_next, within - is_next
    first = np.flatnonzero((beat[:-2] == beat[1:-1]) & (beat[2:] > beat[1:-1]))
    first = first[(beat[first] < len(grid)) & (np.abs(within[first]) < _ON_BEAT)]
    first = first[~grid.is_compound[beat[first]]]
    apart = within[first + 1] - within[first]
    is_half = (apart > 0.4) & (apart < 0.8)
    first, apart = first[is_half], apart[is_half]
    if len(apart) < PLAYING.swing_pairs:
        return 0.5, np.empty(0)
    middle = float(np.median(apart))
    is_one_way = float(np.median(np.abs(apart - middle))) <= PLAYING.swing_even
    is_swung = PLAYING.swing_least <= middle <= PLAYING.swing_most
    return (middle, within[first]) if is_swung and is_one_way else (0.5, np.empty(0))
