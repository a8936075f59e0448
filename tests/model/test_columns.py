from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from mockcheck.model.columns import freeze_columns, stretches


@dataclass(frozen=True)
class Table:
    left: NDArray[np.int64]
    right: NDArray[np.int64]

    def __post_init__(self) -> None:
        freeze_columns(self)


def test_columns_become_read_only() -> None:
    table = Table(np.arange(3), np.arange(3))
    with pytest.raises(ValueError, match="read-only"):
        table.left[0] = 5


def test_columns_of_different_length_are_refused() -> None:
    with pytest.raises(ValueError, match="differ in length"):
        Table(np.arange(3), np.arange(4))


@given(st.lists(st.booleans()))
def test_stretches_cover_exactly_the_true_rows(values: list[bool]) -> None:
    mask = np.array(values, dtype=np.bool_)
    again = np.zeros(len(mask), np.bool_)
    runs = stretches(mask)
    for first, after in runs:
        assert first < after
        again[first:after] = True
    assert np.array_equal(again, mask)
    assert all(a[1] < b[0] for a, b in pairwise(runs))
