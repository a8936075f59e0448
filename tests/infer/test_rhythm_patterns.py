from fractions import Fraction

import numpy as np
import pytest

from mockcheck.infer.rhythm_patterns import (
    pattern_from_name,
    pattern_name,
    pattern_table,
    table_from_counts,
)


@pytest.mark.parametrize("name", ["", "0", "0 1/3 2/3", "1/4 3/4"])
def test_names_of_rhythms_read_back(name: str) -> None:
    assert pattern_name(pattern_from_name(name)) == name


def test_costs_are_shares_of_what_may_follow() -> None:
    table = table_from_counts({"simple": {"0": {"0 1/2": 300, "0": 10}}, "compound": {}})
    shares = np.exp(-table.follow_cost)
    simple = ~table.is_compound
    assert shares[simple][:, simple].sum(axis=1) == pytest.approx(np.ones(simple.sum()))
    names = [pattern_name(pattern) for pattern in table.patterns]
    after = shares[names.index("0")]
    assert after[names.index("0 1/2")] > after[names.index("0")] > after[names.index("0 1/6")]


def test_what_was_never_counted_can_still_be_written() -> None:
    table = pattern_table()
    assert np.isfinite(table.follow_cost).all()
    seventeen = tuple(Fraction(k, 17) for k in range(17))
    assert seventeen in table.patterns
    assert table.division[table.patterns.index(seventeen)] == 17


def test_finer_rhythms_are_less_usual() -> None:
    table = pattern_table()
    names = [pattern_name(pattern) for pattern in table.patterns]
    cost = [
        table.follow_cost[names.index("0"), names.index(name)]
        for name in ("0 1/2", "0 1/4 1/2 3/4", "0 1/5 2/5 3/5 4/5")
    ]
    assert cost == sorted(cost)


def test_families_say_how_a_beat_is_divided() -> None:
    table = pattern_table()
    for name, is_compound, family in (
        ("0", False, 0), ("0 1/2", False, 1), ("0 1/3 2/3", False, 2), ("0 1/3 2/3", True, 1),
        ("0 1/2", True, 2), ("0 1/5 2/5 3/5 4/5", False, 3),
    ):  # fmt: skip
        (row,) = [
            row
            for row, pattern in enumerate(table.patterns)
            if pattern_name(pattern) == name and table.is_compound[row] == is_compound
        ]
        assert table.family[row] == family
