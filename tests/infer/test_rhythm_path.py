import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mockcheck.infer.rhythm_path import best_patterns
from mockcheck.infer.rhythm_patterns import pattern_name, pattern_table
from tests.infer.test_beat_grid import Q, beats


def read(ticks: list[float], metre: tuple[int, int] = (4, 4), jitter_s: float = 0.02) -> list[str]:
    """Rhythm of each beat by name."""
    table = pattern_table()
    grid = beats((0, *metre), end=int(max(ticks)))
    rows, first, _ = best_patterns(np.array(ticks), grid, jitter_s, table)
    assert first[0] == 0
    assert first[-1] == len(ticks)
    names = [pattern_name(table.patterns[row]) for row in rows]
    taken = [len(table.patterns[row]) for row in rows]
    assert np.diff(first).tolist() == taken
    return names


def test_beats_played_a_little_off_are_beats() -> None:
    assert read([0, 488, 951, 1450])[:4] == ["0", "0", "0", "0"]


def test_a_note_before_the_beat_belongs_to_it() -> None:
    names = read([0, 240, 466, 720, 966, 1190])
    assert names[:3] == ["0 1/2"] * 3


def test_a_rest_of_many_hours_changes_nothing_around_it() -> None:
    figure = [0.0, 240.0, 466.0, 720.0, 966.0, 1190.0]
    rest = 90_000
    names = read([*figure, *(Q * rest + tick for tick in figure)])
    assert names[:3] == names[rest : rest + 3] == ["0 1/2"] * 3
    assert set(names[4 : rest - 1]) == {pattern_name(())}


def test_triplets_and_quavers_are_told_apart() -> None:
    names = read([0, 160, 320, 480, 640, 800, 960, 1200, 1440])
    assert names[:3] == ["0 1/3 2/3", "0 1/3 2/3", "0 1/2"]


def test_six_eight_divides_in_three() -> None:
    names = read([0, 240, 480, 720, 1200], (6, 8))
    assert names[:2] == ["0 1/3 2/3", "0 2/3"]


def test_seventeen_in_a_beat_is_seventeen() -> None:
    names = read([Q * k / 17 for k in range(17)] + [Q, 2 * Q])
    assert len(names[0].split()) == 17


def test_more_notes_than_any_rhythm_has_are_all_taken() -> None:
    table = pattern_table()
    ticks = np.arange(0, Q, 5.0)
    rows, first, _ = best_patterns(ticks, beats((0, 4, 4), end=Q), 0.02, table)
    assert first[-1] == len(ticks)
    assert len(table.patterns[rows[0]]) == 64


def test_a_beat_that_is_cut_holds_nothing_past_its_end() -> None:
    table = pattern_table()
    grid = beats((0, 4, 4), (3 * Q + 240, 4, 4), end=5 * Q)
    ticks = np.array([0.0, Q, 2 * Q, 3 * Q, 3 * Q + 230])
    rows, _, _ = best_patterns(ticks, grid, 0.02, table)
    assert [pattern_name(table.patterns[row]) for row in rows[:5]] == ["0", "0", "0", "0", "0"]


@given(st.lists(st.integers(0, 16 * Q), min_size=1, max_size=80, unique=True))
@settings(max_examples=40)
def test_every_onset_is_taken_once_and_in_order(ticks: list[int]) -> None:
    table = pattern_table()
    rows, first, _ = best_patterns(
        np.sort(np.array(ticks, np.float64)), beats((0, 4, 4), end=max(ticks)), 0.02, table
    )
    assert (np.diff(first) >= 0).all()
    assert first[-1] == len(ticks)
    sizes = [len(table.patterns[row]) for row in rows]
    assert np.minimum(np.diff(first), 64).tolist() == sizes


@pytest.mark.parametrize("parts", [2, 3, 4, 6, 8])
def test_even_groups_played_unevenly(parts: int) -> None:
    rng = np.random.default_rng(parts)
    exact = np.arange(16 * parts) * Q / parts
    played = np.sort(np.maximum(exact + rng.normal(0, 8, len(exact)), 0))
    expected = " ".join(["0", *(str(k) for k in np.arange(1, parts))])
    names = read(played.tolist())
    assert sum(len(name.split()) == parts for name in names) >= 15, expected
