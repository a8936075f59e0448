from mockcheck.read.resets import write_out_resets
from tests.read.building import (
    bend,
    control,
    event,
    messages_of,
    off,
    on,
    program,
    score_of,
    track,
)

# RP-015, Response to Reset All Controllers.

RESET = control(10, 121, 0)


def test_a_file_without_resets_stays_as_it_is() -> None:
    messages = messages_of(control(0, 1, 50), on(0, 60), off(480, 60))
    assert write_out_resets(messages) is messages


def test_a_reset_sets_back_what_the_recommendation_lists() -> None:
    sent = [control(0, number, 99) for number in (1, 11, 64, 65, 66, 67)]
    curves = score_of(track(*sent, bend(0, 4096), event(0, 0xD0, 77), event(0, 0xA0, 60, 5), RESET))
    channel = curves.tracks[1].curves(1)
    assert {
        number: channel.controller(number).values[-1] for number in (1, 11, 64, 65, 66, 67)
    } == {
        1: 0,
        11: 127,
        64: 0,
        65: 0,
        66: 0,
        67: 0,
    }
    assert channel.bend_cents.values.tolist() == [100, 0]
    assert channel.channel_pressure.values.tolist() == [77, 0]
    assert channel.key_pressure[60].values.tolist() == [5, 0]
    assert channel.bend_cents.ticks.tolist() == [0, 10]


def test_volume_pan_bank_program_and_bend_range_stay() -> None:
    sent = [control(0, number, 99) for number in (0, 7, 10, 32)]
    chosen = [control(0, 101, 0), control(0, 100, 0), control(0, 6, 12)]
    channel = (
        score_of(track(*sent, *chosen, program(0, 41), RESET, bend(1, 4096))).tracks[1].curves(1)
    )
    assert [channel.controller(number).values.tolist() for number in (0, 7, 10, 32)] == [[99]] * 4
    assert channel.program.values.tolist() == [41]
    assert channel.bend_cents.values.tolist() == [600]


def test_the_chosen_parameter_is_forgotten() -> None:
    chosen = [control(0, 101, 0), control(0, 100, 0), control(0, 6, 12)]
    channel = score_of(track(*chosen, RESET, control(0, 6, 24), bend(1, 4096))).tracks[1].curves(1)
    assert channel.bend_cents.values.tolist() == [600]


def test_what_was_never_sent_is_not_reset_and_other_channels_are_left_alone() -> None:
    score = score_of(track(control(0, 1, 50, 2), RESET, control(0, 1, 60)))
    assert score.tracks[1].curves(2).controller(1).values.tolist() == [50]
    assert sorted(score.tracks[1].curves(1).controllers) == [1, 121]
    assert score.tracks[1].curves(1).controller(1).values.tolist() == [60]


def test_a_reset_acts_in_its_place_among_the_events_of_its_tick() -> None:
    score = score_of(
        track(control(0, 1, 50), control(5, 1, 60), control(0, 121, 0), control(0, 1, 7))
    )
    assert score.tracks[1].curves(1).controller(1).values.tolist() == [50, 60, 0, 7]


def test_many_resets_do_not_pile_up() -> None:
    messages = messages_of(control(0, 1, 50), bend(0, 5), *[RESET] * 1000)
    assert len(write_out_resets(messages)) == len(messages) + 2


def test_a_reset_lifts_the_sustain_pedal() -> None:
    notes = score_of(track(control(0, 64, 127), on(0, 60), off(480, 60), control(480, 121, 0)))
    assert notes.tracks[1].notes.sound_end_s.tolist() == [1.0]
