import numpy as np
import pytest
from numpy.typing import NDArray

from mockcheck.infer.intonation import find_intonation
from mockcheck.model.curves import Curve, empty_curve
from mockcheck.model.intonation import Intonation
from tests.infer.tracks import Row, notes_of, ticks
from tests.phrases import phrase

TIME_S = np.arange(0, 4.0, 0.01)


def heard(cents: NDArray[np.float64], *rows: Row) -> Intonation:
    bend = Curve(ticks(TIME_S), TIME_S, cents)
    return find_intonation(notes_of(*(rows or [(69, 1, 3)])), {1: bend})


@pytest.mark.parametrize("rate", [4.0, 5.5, 6.5, 7.5, 8.0])
@pytest.mark.parametrize("width", [20, 34, 69, 150])
def test_vibrato_is_heard_with_its_rate_and_width(rate: float, width: float) -> None:
    # Players: 4 to 7.5 Hz, 34 cents wide in the middle, 69 at the 95th percentile.
    found = heard(width / 2 * np.sin(2 * np.pi * rate * TIME_S))
    assert found.vibrato_hz[0] == pytest.approx(rate, rel=0.03)
    assert found.vibrato_cents[0] == pytest.approx(width, rel=0.15)
    assert found.level_cents[0] == pytest.approx(0, abs=0.35 * width)


@pytest.mark.parametrize("rate", [1.0, 2.0, 12.0])
def test_a_wobble_and_a_trill_are_no_vibrato(rate: float) -> None:
    assert heard(20 * np.sin(2 * np.pi * rate * TIME_S)).vibrato_hz[0] == 0


def test_a_trill_by_bend_is_no_vibrato() -> None:
    assert heard(150 * np.sin(2 * np.pi * 7 * TIME_S)).vibrato_hz[0] == 0


@pytest.mark.parametrize("seed", range(10))
def test_corrections_at_random_are_no_vibrato(seed: int) -> None:
    chance = np.random.default_rng(seed)
    steps = np.repeat(chance.uniform(-20, 20, 400), chance.integers(2, 30, 400))[: len(TIME_S)]
    assert heard(steps).vibrato_hz[0] == 0


def test_drift_is_told_from_a_slide() -> None:
    assert heard(np.interp(TIME_S, [1, 3], [0, 40])).drift_cents[0] == pytest.approx(40, abs=2)
    assert heard(np.interp(TIME_S, [1.9, 2.1], [0, 300])).drift_cents[0] == 0


def test_a_standing_bend_is_a_level() -> None:
    found = heard(np.full_like(TIME_S, 25.0), (69, 0.5, 1), (71, 2, 3))
    assert found.level_cents == pytest.approx([25, 25])
    assert found.drift_cents == pytest.approx([0, 0])
    assert not found.vibrato_hz.any()


def test_each_channel_has_its_own() -> None:
    bend = Curve(ticks(TIME_S), TIME_S, 17 * np.sin(2 * np.pi * 6 * TIME_S))
    notes = notes_of((69, 1, 3), channel=2)
    assert find_intonation(notes, {2: bend}).vibrato_hz[0] > 5
    assert find_intonation(notes, {1: bend, 2: empty_curve()}).vibrato_hz[0] == 0


def test_notes_struck_together_share_the_bend() -> None:
    found = heard(17 * np.sin(2 * np.pi * 6 * TIME_S), (62, 1, 3), (69, 1, 3))
    assert found.vibrato_hz[0] == found.vibrato_hz[1] > 5


def test_a_part_says_how_its_notes_are_tuned() -> None:
    part = phrase("violin 4/4 q=60 | bend@1=30 A4:2 bend@3=0 B4:2 |")
    assert part.intonation is not None
    assert part.intonation.level_cents.round().tolist() == [30, 0]


def test_a_part_without_bends_stands_at_its_keys() -> None:
    found = find_intonation(notes_of((69, 1, 3)), {})
    assert len(found) == 1
    assert found.level_cents.tolist() == [0]
