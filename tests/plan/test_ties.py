from itertools import pairwise

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from mockcheck.plan._ties import Ties, heaviest_chain, joined_ties, ties_between

TIES = st.lists(
    st.tuples(st.integers(0, 6), st.integers(0, 6), st.sampled_from([1.0, 1.5, 3.0])), max_size=9
)


def ties_of(rows: list[tuple[int, int, float]]) -> Ties:
    table = np.array(rows, np.float64).reshape(-1, 3)
    shift = np.zeros(len(rows), np.int64)
    return joined_ties([Ties(table[:, 0].copy(), table[:, 1].copy(), shift, table[:, 2].copy())])


def heaviest_of_all(ties: Ties) -> float:
    """By trying every subset."""
    rows = list(zip(ties.old.tolist(), ties.new.tolist(), ties.weight.tolist(), strict=True))
    best = 0.0
    for chosen in range(1 << len(rows)):
        picked = [row for bit, row in enumerate(rows) if chosen >> bit & 1]
        if all(a[0] < b[0] and a[1] < b[1] for a, b in pairwise(picked)):
            best = max(best, sum(row[2] for row in picked))
    return best


@given(TIES)
def test_the_chain_rises_in_both_and_none_is_heavier(rows: list[tuple[int, int, float]]) -> None:
    ties = ties_of(rows)
    chain = heaviest_chain(ties)
    assert (np.diff(chain.old) > 0).all()
    assert (np.diff(chain.new) > 0).all()
    assert np.isclose(chain.weight.sum(), heaviest_of_all(ties))


@given(st.lists(st.tuples(st.integers(40, 90), st.integers(1, 8)), min_size=4, max_size=40))
def test_music_put_later_is_tied_at_that_distance_wherever_it_is_unlike_itself(
    notes: list[tuple[int, int]],
) -> None:
    pitch = np.array([row[0] for row in notes], np.int64)
    places = np.cumsum([row[1] / 4 for row in notes])
    ties = ties_between((pitch, places), (pitch, places + 16))
    assert (ties.new - ties.old == 16).all()
    assert (ties.shift == 0).all()


def test_a_row_of_notes_that_comes_twice_ties_nothing() -> None:
    pitch = np.array([60, 62, 64, 65] * 2, np.int64)
    places = np.arange(8.0)
    once = ties_between((pitch[:4], places[:4]), (pitch[:4], places[:4]))
    twice = ties_between((pitch[:4], places[:4]), (pitch, places))
    assert len(once.old) == 2
    assert len(twice.old) == 0
