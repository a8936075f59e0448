import numpy as np
import pytest

from mockcheck.infer.smoothing import VIBRATO, SmoothCurve
from mockcheck.model.curves import Curve
from tests.infer.tracks import curve, ticks


def steps(values: list[float]) -> Curve:
    return curve([(0.01 * place, value) for place, value in enumerate(values)])


def test_a_level_curve_stays_as_it_is() -> None:
    bend = curve([(0.0, 40.0)])
    at = np.array([0.2, 0.5, 3.0])
    assert SmoothCurve(bend).at(at, 0.0, 5.0, np.zeros(3)) == pytest.approx([40, 40, 40])


def test_the_average_is_that_of_the_held_steps() -> None:
    bend = curve([(1.0, 0.0), (2.0, 120.0)])
    middle = SmoothCurve(bend).at(np.array([2.0, 1.95]), 0.0, 4.0, np.zeros(2))
    # A sixth of a second around the step: half of it lies at 120, and 1/30 s of it.
    assert middle == pytest.approx([60, 24])


def test_at_the_very_ends_of_a_note_the_curve_itself_counts() -> None:
    bend = curve([(1.0, 0.0), (2.0, 120.0)])
    at = np.array([1.0, 3.0])
    assert SmoothCurve(bend).at(at, 1.0, 3.0, np.array([7.0, 8.0])).tolist() == [7, 8]


@pytest.mark.parametrize("rate", [4.0, 5.0, 6.0, 6.5, 7.5, 9.0])
def test_vibrato_shrinks_to_less_than_half(rate: float) -> None:
    # A moving average over T leaves |sin(pi f T) / (pi f T)| of a swing at f: 0.41 at 4 Hz.
    time_s = np.arange(0, 3, 0.005)
    values = 50 * np.sin(2 * np.pi * rate * time_s)
    smooth = SmoothCurve(Curve(ticks(time_s), time_s, values))
    inside = time_s[(time_s > 0.5) & (time_s < 2.5)]
    left = np.abs(smooth.at(inside, 0.0, 3.0, np.zeros(len(inside)))).max()
    ideal = 50 * abs(np.sin(np.pi * rate / 6) / (np.pi * rate / 6))
    assert left == pytest.approx(ideal, abs=1.5)
    assert left < 22


def test_a_swing_is_higher_than_its_middle_deviation_and_fastest_in_the_middle() -> None:
    time_s = np.linspace(0, VIBRATO.period_s, 10_001)
    swing = 30 * np.sin(2 * np.pi * time_s / VIBRATO.period_s)
    middle = float(np.median(np.abs(swing)))
    assert VIBRATO.height(middle) == pytest.approx(30, rel=0.001)
    assert VIBRATO.fastest(middle) == pytest.approx(np.gradient(swing, time_s).max(), rel=0.001)
