from dataclasses import replace

import numpy as np
import pytest

from mockcheck.infer.rhythm_playing import PLAYING, find_playing, jitter_of, straightened
from tests.infer.test_beat_grid import Q, beats

GRID = beats((0, 4, 4), end=64 * Q)
QUAVERS = np.arange(128) * Q / 2
RNG = np.random.default_rng(5)
BY_HAND = RNG.normal(0, 10, len(QUAVERS))
"""Ticks of about a millisecond at quarter = 120."""


def test_notes_on_the_grid_were_put_there() -> None:
    assert find_playing(QUAVERS, GRID).is_quantised
    assert not find_playing(np.maximum(QUAVERS + BY_HAND, 0), GRID).is_quantised


@pytest.mark.parametrize("ticks_per_quarter", [48, 96, 120, 960])
def test_coarse_ticks_make_no_machine_of_a_hand(ticks_per_quarter: int) -> None:
    step = Q / ticks_per_quarter
    grid = replace(GRID, ticks=GRID.ticks / step, unit_ticks=GRID.unit_ticks / step)
    by_hand = np.rint(np.maximum(QUAVERS + 2 * BY_HAND, 0) / step)
    assert not find_playing(np.sort(by_hand), grid).is_quantised
    assert find_playing(np.rint(QUAVERS / step), grid).is_quantised


@pytest.mark.parametrize("late_ms", [-80, -30, 0, 45, 90])
def test_a_part_early_or_late_as_a_whole(late_ms: int) -> None:
    ticks = QUAVERS[2:] + BY_HAND[2:] + late_ms * Q / 500
    playing = find_playing(ticks, GRID)
    assert 1000 * playing.late_s == pytest.approx(late_ms, abs=6)
    assert straightened(ticks, GRID, playing) == pytest.approx(QUAVERS[2:], abs=50)


def test_a_part_off_the_beat_is_not_late() -> None:
    assert find_playing(QUAVERS[::2] + Q / 4 + BY_HAND[::2], GRID).late_s == 0


def test_few_notes_are_late_each_for_itself() -> None:
    assert find_playing(QUAVERS[:6] + 50 + BY_HAND[:6] * 0.5, GRID).late_s == 0


@pytest.mark.parametrize("ratio", [0.56, 0.6, 0.63])
def test_swung_quavers_are_quavers(ratio: float) -> None:
    ticks = np.where(np.arange(128) % 2, QUAVERS - Q / 2 + ratio * Q, QUAVERS)
    ticks = np.maximum(ticks + BY_HAND / 2, 0)
    playing = find_playing(ticks, GRID)
    assert playing.swing == pytest.approx(ratio, abs=0.04)


def test_even_quavers_and_triplets_are_not_swung() -> None:
    triplets = (np.arange(192) * Q / 3)[np.arange(192) % 3 != 1] + RNG.normal(0, 8, 128)
    for ticks in (QUAVERS + BY_HAND, triplets):
        assert find_playing(np.sort(np.maximum(ticks, 0)), GRID).swing == 0.5


def test_the_spread_is_told_without_what_is_misread() -> None:
    off_s = np.concatenate([RNG.normal(0, 0.015, 500), np.full(20, 0.2)])
    assert jitter_of(off_s) == pytest.approx(0.015, rel=0.2)
    assert jitter_of(np.zeros(10)) == PLAYING.least_jitter_s
    assert jitter_of(np.empty(0)) == PLAYING.first_jitter_s
