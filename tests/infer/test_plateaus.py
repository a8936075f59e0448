import numpy as np
import pytest
from numpy.typing import NDArray

from mockcheck.infer.pitch_lines import PitchLine
from mockcheck.infer.plateaus import note_plateaus

TIME_S = np.arange(0, 1.0, 0.005)


def plateaus(
    cents: NDArray[np.float64], homes: tuple[float, ...], begins: tuple[float, ...]
) -> dict[int, float]:
    line = PitchLine(tuple(range(len(homes))), homes, begins, TIME_S.tolist(), cents.tolist(), 1.0)
    return note_plateaus(line, np.append(TIME_S, 1.0), np.append(cents, cents[-1]))


def three_notes(middle_s: float) -> NDArray[np.float64]:
    """Up a third and up another, with so long a stay between."""
    edges = [0.0, 0.4 - middle_s / 2, 0.45 - middle_s / 2, 0.45 + middle_s / 2, 0.5 + middle_s / 2]
    cents: NDArray[np.float64] = np.interp(TIME_S, edges, [6000, 6000, 6400, 6400, 6700])
    return cents


def test_a_note_held_between_two_slides_is_found_however_short() -> None:
    found = plateaus(three_notes(0.08), (6000, 6400, 6700), (0.0, 0.4, 0.5))
    assert sorted(found.values()) == [6000, 6400, 6700]
    rows = sorted(found)
    assert TIME_S[rows[1]] == pytest.approx(0.45, abs=0.02)


def test_a_note_only_passed_is_not_heard() -> None:
    found = plateaus(three_notes(0.0), (6000, 6400, 6700), (0.0, 0.4, 0.5))
    assert sorted(found.values()) == [6000, 6700]


def test_vibrato_around_a_note_still_holds_it() -> None:
    cents = 6000 + 45 * np.sin(2 * np.pi * 6 * TIME_S)
    found = plateaus(cents, (6000,), (0.0,))
    assert list(found.values()) == [pytest.approx(6000, abs=12)]


def test_a_note_out_of_tune_has_no_plateau_of_its_own() -> None:
    assert plateaus(np.full_like(TIME_S, 6060.0), (6000,), (0.0,)) == {}
