import pytest

from mockcheck.read.pairing import pair_notes
from tests.read.building import control, messages_of, meta, off, on, score_of, track

# MIDI 1.0 Detailed Specification 4.2, Assignment of Note On/Off Commands and Channel Mode
# Messages; first in, first out is our choice where the standard leaves one.

Pair = tuple[int, int, int | None]


def pairs_of(*events: bytes) -> list[Pair]:
    """(pitch, onset, release or None) by onset."""
    messages = messages_of(*events)
    pairs = pair_notes(messages, {})
    found = [
        (
            int(messages.data1[begin]),
            int(messages.ticks[begin]),
            None if end < 0 else int(messages.ticks[end]),
        )
        for begin, end in zip(pairs.begin_rows, pairs.end_rows, strict=True)
    ]
    return sorted(found, key=lambda pair: (pair[1], pair[0], pair[2] or 0))


def strays_of(*events: bytes) -> list[int]:
    messages = messages_of(*events)
    return [int(messages.ticks[row]) for row in pair_notes(messages, {}).stray_rows]


def test_nothing_pairs_to_nothing() -> None:
    assert pairs_of() == []
    assert pairs_of(control(0, 1, 1)) == []


def test_the_key_struck_first_is_released_first() -> None:
    assert pairs_of(on(0, 60), on(10, 60), on(10, 60), off(10, 60), off(10, 60), off(10, 60)) == [
        (60, 0, 30),
        (60, 10, 40),
        (60, 20, 50),
    ]


def test_keys_and_channels_and_ports_do_not_mix() -> None:
    events = (
        on(0, 60),
        on(0, 61),
        on(0, 60, 2),
        meta(0x21, b"\x01"),
        on(0, 60),
        off(10, 60),
        off(10, 60, 2),
    )
    assert pairs_of(meta(0x21, b"\x00"), *events) == [
        (60, 0, None),
        (60, 0, None),
        (60, 0, 10),
        (61, 0, None),
    ]


@pytest.mark.parametrize("order", ["off first", "on first"])
def test_at_one_tick_the_older_note_ends_before_the_newer_begins(order: str) -> None:
    turn = [off(0, 60), on(0, 60)] if order == "off first" else [on(0, 60), off(0, 60)]
    assert pairs_of(on(0, 60), meta(1, b"", 480), *turn, off(480, 60)) == [
        (60, 0, 480),
        (60, 480, 960),
    ]


def test_a_note_may_begin_and_end_at_one_tick() -> None:
    assert pairs_of(on(5, 60), off(0, 60), on(5, 60), off(5, 60)) == [(60, 5, 5), (60, 10, 15)]


def test_an_off_without_a_note_takes_nothing_away() -> None:
    events = (off(0, 60), off(0, 60), on(10, 60), off(10, 60), off(10, 60), on(0, 60), off(10, 60))
    assert pairs_of(*events) == [(60, 10, 20), (60, 30, 40)]
    assert strays_of(*events) == [0, 0, 30]


def test_a_key_without_an_off_has_no_end() -> None:
    assert pairs_of(on(0, 60), on(5, 60), off(5, 60)) == [(60, 0, 10), (60, 5, None)]


@pytest.mark.parametrize("number", [120, 123, 124, 125, 126, 127])
def test_mode_messages_end_the_notes_of_their_channel(number: int) -> None:
    assert pairs_of(on(0, 60), on(0, 62), on(0, 60, 2), control(480, number, 0), on(480, 64)) == [
        (60, 0, None),
        (60, 0, 480),
        (62, 0, 480),
        (64, 960, None),
    ]


def test_the_off_that_comes_behind_a_mode_message_is_stray() -> None:
    events = (on(0, 60), control(480, 123, 0), off(10, 60), on(10, 60), off(10, 60))
    assert pairs_of(*events) == [(60, 0, 480), (60, 500, 510)]
    assert strays_of(*events) == [490]


def test_a_mode_message_spares_the_notes_that_begin_at_its_tick() -> None:
    assert pairs_of(on(0, 60), on(480, 62), control(0, 123, 0), off(480, 62)) == [
        (60, 0, 480),
        (62, 480, 960),
    ]


def test_several_mode_messages_in_a_row_act_like_one() -> None:
    stop = control(480, 120, 0) + control(0, 123, 0) + control(0, 121, 0)
    assert pairs_of(on(0, 60), stop, on(0, 60), off(10, 60), stop) == [
        (60, 0, 480),
        (60, 480, 490),
    ]


def test_an_mpe_managers_mode_message_ends_its_members_notes() -> None:
    # MIDI Polyphonic Expression 1.0, 2.3.
    setup = control(0, 101, 0) + control(0, 100, 6) + control(0, 6, 3)
    notes = score_of(track(setup, on(0, 60, 2), on(0, 64, 9), control(480, 123, 0))).tracks[1].notes
    assert notes.hanging.tolist() == [False, True]
