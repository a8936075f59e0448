import numpy as np
import pytest

from mockcheck.infer.onsets import first_rows, group_onsets


def groups(*rows: tuple[float, float]) -> list[int]:
    onset_s, release_s = np.array(rows, np.float64).reshape(-1, 2).T
    return [int(number) for number in group_onsets(onset_s, release_s)]


def test_no_notes_have_no_onsets() -> None:
    assert groups() == []


def test_a_chord_rolled_within_35_ms_is_one_onset() -> None:
    # Rasch (1979): players of one ensemble spread by 27 to 49 ms, so 35 ms is one attack.
    assert groups((0, 1), (0.02, 1), (0.035, 1), (0.5, 1)) == [0, 0, 0, 1]


def test_a_slower_roll_is_several_onsets() -> None:
    assert groups((0, 1), (0.04, 1), (0.08, 1)) == [0, 1, 2]


def test_a_run_faster_than_a_roll_stays_a_run() -> None:
    assert groups((0, 0.03), (0.03, 0.06), (0.06, 0.09)) == [0, 1, 2]


@pytest.mark.parametrize("seed", range(20))
def test_no_onset_is_wider_than_a_roll(seed: int) -> None:
    chance = np.random.default_rng(seed)
    onset_s = np.sort(np.round(chance.uniform(0, 3, 200), 3))
    group = group_onsets(onset_s, onset_s + chance.uniform(0, 0.5, 200))
    first = first_rows(group)
    assert group[first].tolist() == list(range(group[-1] + 1))
    assert np.all(onset_s - onset_s[first][group] <= 0.035 + 1e-5)
    apart = np.diff(onset_s) > 0.0351
    assert np.all(np.diff(group)[apart] == 1)
