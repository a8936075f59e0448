from mockcheck.model.score import Score
from tests.read.building import (
    bend,
    codes,
    control,
    meta,
    off,
    on,
    program,
    score_of,
    track,
)

# How exports lay out controllers is common practice, no source; that port and channel name an
# instrument is MIDI 1.0 Detailed Specification 4.2, that a device name does is RP-019.


def line(key: int = 60, channel: int = 1, *extra: bytes) -> bytes:
    return track(*extra, on(0, key, channel), off(960, key, channel))


def curve(score: Score, index: int, number: int, channel: int = 1) -> list[float]:
    values: list[float] = score.tracks[index].curves(channel).controller(number).values.tolist()
    return values


EXPRESSION = track(meta(3, b"Fader"), control(0, 11, 40), control(480, 11, 90))


def test_a_track_of_controllers_goes_to_the_only_notes_on_its_channel() -> None:
    score = score_of(line(), EXPRESSION)
    assert curve(score, 1, 11) == [40, 90]
    assert curve(score, 2, 11) == [40, 90]
    assert [found.controller_source for found in score.tracks] == [None, 2, None]
    assert codes(score) == ["controllers-handed-over"]
    assert "'Fader'" in score.warnings[0].message


def test_two_instruments_on_one_channel_get_nothing() -> None:
    score = score_of(line(), line(48), EXPRESSION)
    assert curve(score, 1, 11) == curve(score, 2, 11) == []
    assert [found.controller_source for found in score.tracks] == [None] * 4
    assert codes(score) == ["controllers-without-notes"]


def test_ports_channels_and_devices_keep_instruments_apart() -> None:
    for apart in (line(60, 2), line(60, 1, meta(0x21, b"\x01")), line(60, 1, meta(9, b"B"))):
        score = score_of(apart, EXPRESSION)
        assert curve(score, 1, 11) == []
        assert codes(score) == []


def test_port_0_is_where_tracks_without_a_port_play() -> None:
    assert curve(score_of(line(60, 1, meta(0x21, b"\x00")), EXPRESSION), 1, 11) == [40, 90]


def test_a_track_with_notes_speaks_for_itself_alone() -> None:
    score = score_of(line(), line(48, 2, control(0, 11, 9, 1)))
    assert curve(score, 1, 11) == []
    assert codes(score) == []


def test_a_set_up_track_speaks_for_every_track_on_its_channels() -> None:
    bend_range = control(0, 101, 0) + control(0, 100, 0) + control(0, 6, 12)
    setup = track(program(0, 40), control(0, 7, 90), program(0, 42, 2), bend_range)
    score = score_of(setup, line(), track(bend(480, 4096), on(0, 62), off(9, 62)), line(48, 2))
    assert curve(score, 2, 7) == curve(score, 3, 7) == [90]
    assert [found.notes.program.tolist() for found in score.tracks[2:]] == [[40], [40], [42]]
    assert score.tracks[3].curves(1).bend_cents.values.tolist() == [600]
    assert codes(score) == ["setup-handed-over"]


def test_a_tracks_own_settings_at_the_same_tick_come_last() -> None:
    setup = track(program(0, 40), control(0, 7, 90), control(0, 7, 80, 2))
    score = score_of(line(60, 1, program(0, 45), control(0, 7, 55)), setup)
    assert score.tracks[1].notes.program.tolist() == [45]
    assert curve(score, 1, 7)[-1] == 55


def test_an_instrument_at_rest_does_not_hand_on_its_program() -> None:
    rest = track(meta(3, b"Viola"), program(0, 41), control(0, 7, 70))
    score = score_of(line(), rest)
    assert score.tracks[1].notes.program.tolist() == [-1]
    assert curve(score, 1, 7) == [70]


def test_a_pedal_on_a_track_of_its_own_holds_the_notes() -> None:
    score = score_of(
        track(on(0, 60), off(480, 60)), track(control(0, 64, 127), control(960, 64, 0))
    )
    assert score.tracks[1].notes.sound_end_s.tolist() == [1.0]


def test_an_mpe_set_up_reaches_the_member_channels() -> None:
    # MIDI Polyphonic Expression 1.0, 2.1: the manager channel has no notes of its own.
    setup = track(control(0, 101, 0), control(0, 100, 6), control(0, 6, 3), bend(480, 4096))
    score = score_of(track(bend(0, 1024, 2), on(0, 60, 2), off(960, 60, 2)), setup)
    assert score.tracks[1].mpe is not None
    assert score.tracks[1].curves(2).bend_cents.values.tolist() == [600]
    assert score.tracks[1].curves(1).bend_cents.values.tolist() == [100]


def test_patterns_of_format_2_do_not_speak_for_each_other() -> None:
    score = score_of(line(), EXPRESSION, smf_format=2)
    assert curve(score, 0, 11) == []
    assert "controllers-handed-over" not in codes(score)


def test_a_stray_key_up_on_a_noteless_track_closes_no_note_elsewhere() -> None:
    score = score_of(track(off(1, 60, 1)), track(on(0, 60, 1)))
    assert score.tracks[2].notes.release_ticks.tolist() == [0]
    assert score.tracks[2].notes.hanging.tolist() == [True]
