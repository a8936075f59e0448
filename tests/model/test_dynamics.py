import numpy as np
import pytest

from mockcheck.model.dynamics import DynamicsCurve


def curve(source: str = "controller 11") -> DynamicsCurve:
    return DynamicsCurve(
        track=2,
        source=source,
        ticks=np.array([480, 960]),
        time_s=np.array([1.0, 2.0]),
        loudness=np.array([40.0, 90.0]),
        confidence=0.9,
    )


def test_each_value_holds_until_the_next_and_the_first_before_it_too() -> None:
    times = np.array([0.0, 1.0, 1.99, 2.0, 60.0])
    assert curve().value_at(times).tolist() == [40, 40, 40, 90, 90]


@pytest.mark.parametrize(
    ("source", "is_drawn"),
    [
        ("controller 11", True),
        ("controller 1 and 11", True),
        ("velocity and controller 7", True),
        ("velocity", False),
    ],
)
def test_only_a_controller_moves_while_a_note_is_held(source: str, *, is_drawn: bool) -> None:
    assert curve(source).is_drawn is is_drawn


def test_columns_are_read_only_and_of_one_length() -> None:
    with pytest.raises(ValueError, match="read-only"):
        curve().loudness[0] = 1
    with pytest.raises(ValueError, match="differ in length"):
        DynamicsCurve(0, "velocity", np.array([0]), np.array([0.0]), np.array([1.0, 2.0]), 1.0)
