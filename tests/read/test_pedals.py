import pytest

from tests.read.building import control, meta, off, on, score_of, track

# MIDI 1.0 Detailed Specification 4.2, Controllers 64 and 66; 480 ticks are half a second.


def sound_ends(*events: bytes) -> list[float]:
    found: list[float] = score_of(track(*events)).tracks[1].notes.sound_end_s.tolist()
    return found


def test_without_a_pedal_sound_ends_with_the_key() -> None:
    assert sound_ends(on(0, 60), off(480, 60)) == [0.5]


@pytest.mark.parametrize(("value", "end"), [(0, 0.5), (63, 0.5), (64, 1.0), (127, 1.0)])
def test_from_64_on_the_sustain_pedal_holds(value: int, end: float) -> None:
    assert sound_ends(control(0, 64, value), on(0, 60), off(480, 60), control(480, 64, 0)) == [end]


def test_the_pedal_may_go_down_under_the_note_but_not_behind_it() -> None:
    down, up = control(0, 64, 127), control(480, 64, 0)
    assert sound_ends(on(0, 60), down, off(480, 60), up) == [1.0]
    assert sound_ends(on(0, 60), off(480, 60), down, up) == [0.5]


def test_a_pedal_that_never_comes_up_holds_to_the_end_of_the_track() -> None:
    events = (control(0, 64, 127), on(0, 60), off(480, 60), meta(1, b"end", 1440))
    assert sound_ends(*events) == [2.0]


def test_the_sostenuto_pedal_holds_only_keys_that_are_down() -> None:
    events = (
        on(0, 60),
        control(240, 66, 127),
        on(0, 64),
        off(240, 60),
        off(0, 64),
        control(480, 66, 0),
    )
    assert sound_ends(*events) == [1.0, 0.5]


def test_repeating_the_sostenuto_message_catches_no_more_keys() -> None:
    down = control(0, 66, 127)
    assert sound_ends(down, on(0, 60), down, off(480, 60), control(480, 66, 0)) == [0.5]


def test_a_pedal_holds_its_own_channel_only() -> None:
    events = (control(0, 64, 127, 2), on(0, 60), off(480, 60), control(480, 64, 0, 2))
    assert sound_ends(*events) == [0.5]


def test_all_notes_off_leaves_the_pedal_alone_and_all_sound_off_does_not() -> None:
    begin = control(0, 64, 127) + on(0, 60)
    end = meta(1, b"", 480) + control(0, 64, 0)
    assert sound_ends(begin, control(480, 123, 0), end) == [1.0]
    assert sound_ends(begin, control(480, 120, 0), end) == [0.5]
    assert sound_ends(begin, off(480, 60), control(240, 120, 0), end) == [0.75]


def test_the_soft_pedal_holds_nothing() -> None:
    assert sound_ends(control(0, 67, 127), on(0, 60), off(480, 60), control(480, 67, 0)) == [0.5]


def test_an_mpe_managers_pedal_holds_its_members() -> None:
    # MIDI Polyphonic Expression 1.0, 2.3.
    setup = control(0, 101, 0) + control(0, 100, 6) + control(0, 6, 3)
    events = (setup, control(0, 64, 127), on(0, 60, 2), off(480, 60, 2), control(480, 64, 0))
    assert sound_ends(*events) == [1.0]
