import numpy as np

from mockcheck.model.curves import Curve, empty_curve


def test_a_value_holds_until_the_next_one() -> None:
    curve = Curve(np.array([10, 20]), np.array([1.0, 2.0]), np.array([5.0, 7.0]), default=-1)
    assert curve.value_at(np.array([0.5, 1.0, 1.9, 2.0, 9.0])).tolist() == [-1, 5, 5, 7, 7]
    assert curve.value_at_ticks(np.array([9, 10, 19, 20])).tolist() == [-1, 5, 5, 7]


def test_of_two_values_at_one_moment_the_later_counts() -> None:
    curve = Curve(np.array([10, 10]), np.array([1.0, 1.0]), np.array([5.0, 7.0]))
    assert curve.value_at_ticks(np.array([10])).tolist() == [7]


def test_nothing_sent_is_the_default_everywhere() -> None:
    assert empty_curve(3.0).value_at(np.array([0.0, 5.0])).tolist() == [3, 3]
    assert len(empty_curve()) == 0
