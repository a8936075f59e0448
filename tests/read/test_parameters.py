import numpy as np
import pytest

from mockcheck.read.parameters import Parameters, read_parameters
from tests.read.building import control, messages_of, on

# MIDI 1.0 Detailed Specification 4.2, Registered and Non-Registered Parameter Numbers; zones from
# MIDI Polyphonic Expression 1.0, 2.1 and 2.4.


def choose(coarse: int, fine: int, channel: int = 1) -> bytes:
    return control(0, 101, coarse, channel) + control(0, 100, fine, channel)


def enter(coarse: int, channel: int = 1, fine: int | None = None) -> bytes:
    data = control(0, 6, coarse, channel)
    return data if fine is None else data + control(0, 38, fine, channel)


def parameters_of(*events: bytes) -> Parameters:
    return read_parameters(messages_of(*events, on(0, 60)))


def final_range(parameters: Parameters, channel: int = 1) -> float:
    return float(parameters.ranges_at(channel, np.array([10**6]))[0])


def test_two_semitones_hold_until_something_is_said() -> None:
    parameters = parameters_of()
    assert final_range(parameters) == 200
    assert not parameters.range_rows


@pytest.mark.parametrize(
    ("events", "cents"),
    [
        (choose(0, 0) + enter(12), 1200),
        (choose(0, 0) + enter(12, fine=0), 1200),
        (choose(0, 0) + enter(1, fine=50), 150),
        (choose(0, 0) + enter(0), 0),
        (choose(0, 0) + enter(96), 9600),
        (control(0, 100, 0) + control(0, 101, 0) + enter(7), 700),
        (choose(0, 0) + enter(5, fine=30) + enter(6), 600),
        (choose(0, 1) + enter(12), 200),
        (choose(127, 127) + enter(12), 200),
        (choose(0, 0) + choose(127, 127) + enter(12), 200),
        (enter(12), 200),
        (choose(0, 0) + control(0, 99, 1) + control(0, 98, 8) + enter(24), 200),
        (control(0, 99, 0) + control(0, 98, 0) + enter(24), 200),
        (choose(0, 0, 2) + enter(12), 200),
    ],
)
def test_data_entry_belongs_to_the_parameter_chosen_last(events: bytes, cents: float) -> None:
    assert final_range(parameters_of(events)) == cents


# RP-018, from memory: one step is a cent.
@pytest.mark.parametrize(
    ("steps", "cents"), [((96,), 201), ((97,), 199), ((96, 96, 97), 201), ((96,) * 100, 300)]
)
def test_data_up_and_down_go_by_cents(steps: tuple[int, ...], cents: float) -> None:
    moves = b"".join(control(0, number, 0) for number in steps)
    assert final_range(parameters_of(choose(0, 0), moves)) == cents


def test_a_range_never_falls_below_nothing() -> None:
    assert final_range(parameters_of(choose(0, 0), enter(0), control(0, 97, 0))) == 0


def test_the_range_in_force_is_the_latest_one_before() -> None:
    parameters = parameters_of(choose(0, 0), enter(7), enter(12))
    assert parameters.ranges_at(1, np.array([0, 2, 3, 4])).tolist() == [200, 200, 700, 1200]


def test_a_lower_zone_grows_upwards_from_channel_2() -> None:
    parameters = parameters_of(choose(0, 6), enter(3))
    assert parameters.zones[1].zone == "lower"
    assert parameters.zones[1].member_channels == (2, 3, 4)
    assert [final_range(parameters, channel) for channel in (1, 2, 4, 5)] == [200, 4800, 4800, 200]
    assert 2 in parameters.range_rows


def test_an_upper_zone_grows_downwards_from_channel_15() -> None:
    parameters = parameters_of(choose(0, 6, 16), enter(15, 16))
    assert parameters.zones[16].zone == "upper"
    assert parameters.zones[16].member_channels == tuple(range(15, 0, -1))


def test_a_range_on_one_member_holds_for_all_of_its_zone() -> None:
    parameters = parameters_of(choose(0, 6), enter(3), choose(0, 0, 3), enter(24, 3))
    assert [final_range(parameters, channel) for channel in (1, 2, 3, 4)] == [200, 2400, 2400, 2400]


def test_the_managers_range_is_its_own() -> None:
    parameters = parameters_of(choose(0, 6), enter(3), choose(0, 0), enter(12))
    assert [final_range(parameters, channel) for channel in (1, 2)] == [1200, 4800]


def test_a_set_up_message_sets_ranges_back() -> None:
    parameters = parameters_of(choose(0, 0, 2), enter(7, 2), choose(0, 6), enter(2))
    assert final_range(parameters, 2) == 4800


def test_the_zone_set_up_last_keeps_its_channels() -> None:
    parameters = parameters_of(
        choose(0, 6), enter(10), choose(0, 6, 16), enter(10, 16), choose(0, 0, 2), enter(5, 2)
    )
    # The lower zone has shrunk to channels 2..5.
    assert [final_range(parameters, channel) for channel in (2, 5, 6)] == [500, 500, 4800]


@pytest.mark.parametrize("events", [choose(0, 6) + enter(0), choose(0, 6, 5) + enter(3, 5)])
def test_a_closed_zone_and_one_on_a_wrong_channel_are_none(events: bytes) -> None:
    assert not parameters_of(events).zones
