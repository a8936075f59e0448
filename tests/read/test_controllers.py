import pytest

from tests.read.building import bend, control, event, off, on, program, score_of, track

# MIDI 1.0 Detailed Specification 4.2, Control Change and Pitch Bend Change: a bend is the same
# share of its range as its distance from 8192 is of 8192.


def test_each_channel_and_number_has_a_curve_of_its_own() -> None:
    events = [control(0, 1, 10), control(5, 11, 20), control(5, 1, 30), control(5, 1, 40, 2)]
    channels = score_of(track(*events)).tracks[1].channels
    assert sorted(channels) == [1, 2]
    assert sorted(channels[1].controllers) == [1, 11]
    assert channels[1].controller(1).ticks.tolist() == [0, 10]
    assert channels[1].controller(1).values.tolist() == [10, 30]
    assert channels[2].controller(1).values.tolist() == [40]


def test_values_at_one_tick_keep_the_order_of_the_file() -> None:
    curve = score_of(track(control(0, 1, 90), control(0, 1, 3), control(0, 1, 50))).tracks[1]
    assert curve.curves(1).controller(1).values.tolist() == [90, 3, 50]


@pytest.mark.parametrize(
    ("value", "cents"), [(-8192, -200.0), (0, 0.0), (4096, 100.0), (8191, 200 * 8191 / 8192)]
)
def test_bends_are_cents_of_two_semitones_by_default(value: int, cents: float) -> None:
    channel = score_of(track(bend(0, value))).tracks[1].curves(1)
    assert channel.bend_cents.values.tolist() == [cents]
    assert channel.bend_range_assumed


def test_a_range_counts_from_its_place_in_the_file_on() -> None:
    range_12 = control(0, 101, 0) + control(0, 100, 0) + control(0, 6, 12)
    channel = score_of(track(bend(0, 4096), range_12, bend(0, 4096))).tracks[1].curves(1)
    assert channel.bend_cents.values.tolist() == [100, 600]
    assert channel.bend_cents.ticks.tolist() == [0, 0]
    assert not channel.bend_range_assumed


def test_programs_and_pressure_are_curves_too() -> None:
    events = [program(0, 40), event(5, 0xD0, 99), event(5, 0xA0, 60, 7), event(5, 0xA0, 62, 8)]
    channel = score_of(track(*events)).tracks[1].curves(1)
    assert channel.program.values.tolist() == [40]
    assert channel.program.default == -1
    assert channel.channel_pressure.values.tolist() == [99]
    assert {key: curve.values.tolist() for key, curve in channel.key_pressure.items()} == {
        60: [7],
        62: [8],
    }


def test_a_channel_with_notes_alone_is_there_and_empty() -> None:
    channels = score_of(track(on(0, 60, 3), off(9, 60, 3))).tracks[1].channels
    assert list(channels) == [3]
    assert not channels[3].controllers
    assert len(channels[3].bend_cents) == 0


def test_before_the_first_value_volume_and_expression_are_not_silent() -> None:
    # RP-015 for expression 127; General MIDI Developer Guidelines, from memory, for volume 100.
    channel = score_of(track(control(480, 11, 5), control(0, 7, 5), control(0, 1, 5))).tracks[1]
    defaults = [channel.curves(1).controller(number).default for number in (11, 7, 1)]
    assert defaults == [127, 100, 0]


def test_high_resolution_velocity_is_kept_and_changes_no_velocity() -> None:
    # CA-031: controller 88 is kept for whoever wants it; velocities stay 1..127.
    found = score_of(track(control(0, 88, 64), on(0, 60), off(9, 60))).tracks[1]
    assert found.notes.velocity.tolist() == [80]
    assert found.curves(1).controller(88).values.tolist() == [64]
