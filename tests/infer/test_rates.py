import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from mockcheck.infer.rates import fast_passages, strokes
from tests.phrases import phrase


def passages(gaps_s: list[float], limit: float, window: int = 4) -> list[tuple[int, int]]:
    onset_s = np.concatenate([[0.0], np.cumsum(gaps_s)])
    needed = np.full(len(onset_s), 1 / limit)
    counted = np.ones(len(onset_s), np.bool_)
    return [(f.first, f.after) for f in fast_passages(onset_s, needed, counted, window)]


def test_strokes_know_repeats_and_chords() -> None:
    line = strokes(phrase("violin 4/4 q=120 | A4:1 A4:1 D4+A4:1 D4+A4:1 |"))
    assert line.is_repeat.tolist() == [False, True, False, True]
    assert line.onset_s.tolist() == [0, 0.5, 1.0, 1.5]


def test_exactly_at_the_limit_is_playable() -> None:
    assert passages([0.1] * 10, limit=10) == []
    assert passages([0.1] * 10, limit=9.99) == [(0, 11)]


def test_only_the_dense_stretch_is_named_and_a_rest_ends_a_run() -> None:
    assert passages([0.3] * 6 + [0.05] * 6 + [0.3] * 6, limit=10, window=4) == [(6, 13)]
    assert passages([0.05, 0.05, 0.6, 0.05, 0.05], limit=10, window=4) == []


def test_the_rate_is_that_of_the_densest_window() -> None:
    onset_s = np.cumsum([0.0, *[0.1] * 5, *[0.05] * 5])
    found = fast_passages(onset_s, np.full(11, 1 / 9), np.ones(11, np.bool_), 4)
    assert len(found) == 1
    assert abs(found[0].notes_per_s - 20) < 1e-9
    assert abs(found[0].ratio - 20 / 9) < 1e-9


@given(st.lists(st.floats(0.02, 0.4), min_size=4, max_size=40), st.floats(0.3, 0.99))
def test_more_time_never_makes_a_new_passage(gaps_s: list[float], factor: float) -> None:
    slow = [gap / factor for gap in gaps_s]
    assert len(passages(slow, 10)) <= len(gaps_s)
    if not passages(gaps_s, 10):
        assert not passages(slow, 10)
