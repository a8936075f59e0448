from itertools import product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from mockcheck.infer.stroke_path import Changes, chances_in_passages

STAY = np.array([[0.9, 0.1], [0.2, 0.8]])
EVEN = np.array([[0.5, 0.5], [0.5, 0.5]])
CHANGES = Changes(np.array([0.6, 0.4]), STAY, EVEN)


def by_every_path(signs: np.ndarray, is_after_rest: list[bool]) -> np.ndarray:
    """The same by adding up all paths, which takes too long for music."""
    count = len(signs)
    chances: np.ndarray = np.zeros((count, 2))
    for path in product((0, 1), repeat=count):
        weight = CHANGES.first[path[0]] * np.exp(signs[0, path[0]])
        for place in range(1, count):
            table = EVEN if is_after_rest[place] else STAY
            weight *= table[path[place - 1], path[place]] * np.exp(signs[place, path[place]])
        chances[np.arange(count), path] += weight
    chances /= chances.sum(axis=1, keepdims=True)
    return chances


@given(
    st.lists(st.tuples(st.floats(-5, 0), st.floats(-5, 0), st.booleans()), min_size=1, max_size=9)
)
def test_chances_are_those_of_all_paths_together(rows: list[tuple[float, float, bool]]) -> None:
    signs = np.array([row[:2] for row in rows])
    is_after_rest = [row[2] for row in rows]
    found = chances_in_passages(signs, CHANGES, np.array(is_after_rest))
    assert np.allclose(found, by_every_path(signs, is_after_rest))


def test_an_odd_note_is_carried_by_its_passage_and_a_passage_is_not() -> None:
    odd = np.array([[0.0, -3.0]] * 8)
    odd[4] = [-1.5, 0.0]
    assert chances_in_passages(odd, CHANGES, np.zeros(8, bool)).argmax(axis=1).tolist() == [0] * 8
    odd[4:] = [-1.5, 0.0]
    expected = [0] * 4 + [1] * 4
    assert chances_in_passages(odd, CHANGES, np.zeros(8, bool)).argmax(axis=1).tolist() == expected


def test_a_rest_frees_the_next_note() -> None:
    signs = np.array([[0.0, -3.0]] * 4 + [[-0.5, 0.0]])
    no_rest = np.zeros(5, bool)
    after_rest = np.array([False] * 4 + [True])
    held = chances_in_passages(signs, CHANGES, no_rest)
    freed = chances_in_passages(signs, CHANGES, after_rest)
    assert held[4].argmax() == 0
    assert freed[4].argmax() == 1


@pytest.mark.parametrize("count", [0, 1, 2, 17, 1000])
def test_lines_of_any_length_add_up_to_one(count: int) -> None:
    signs = np.random.default_rng(4).normal(0, 5, (count, 2))
    chances = chances_in_passages(signs, CHANGES, np.zeros(count, bool))
    assert chances.shape == (count, 2)
    assert np.allclose(chances.sum(axis=1), 1)


def test_the_end_of_a_long_line_does_not_depend_on_how_it_is_cut() -> None:
    signs = np.random.default_rng(5).normal(0, 3, (500, 2))
    none = np.zeros(500, bool)
    whole = chances_in_passages(signs, CHANGES, none)
    for first in (3, 50, 122):
        part = chances_in_passages(signs[first:], CHANGES, none[first:])
        assert np.allclose(whole[400:], part[400 - first :])
