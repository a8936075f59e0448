import pytest

from mockcheck.model.score import ReadWarning
from mockcheck.read.events import MAX_TEXT_BYTES, find_events, read_track
from mockcheck.read.raw import RawTrack
from tests.read.building import END, bend, control, event, meta, number, off, on, program

# Every layout here follows Standard MIDI Files 1.0, Track Chunks and Meta-Events, and MIDI 1.0
# Detailed Specification 4.2 for the sizes of messages.


def read(*events: bytes, end: bytes = END) -> tuple[RawTrack, list[ReadWarning]]:
    data = b"".join(events) + end
    places = find_events(data, 0, len(data), 1000)
    return read_track(data, places, 0, incomplete=False)


def test_each_message_kind_has_its_size_and_place() -> None:
    track, warnings = read(
        on(0, 60),
        event(1, 0xA0, 60, 9),
        control(2, 7, 100),
        program(3, 40),
        event(4, 0xD0, 50),
        bend(5, 0),
        off(6, 60),
    )
    messages = track.messages
    assert messages.kind.tolist() == [9, 10, 11, 12, 13, 14, 8]
    assert messages.ticks.tolist() == [0, 1, 3, 6, 10, 15, 21]
    assert messages.data1.tolist() == [60, 60, 7, 40, 50, 0, 60]
    assert messages.data2.tolist() == [80, 9, 100, 0, 0, 64, 64]
    assert messages.byte_offset.tolist() == [1, 5, 9, 13, 16, 19, 23]
    assert not warnings


@pytest.mark.parametrize("delta", [0, 127, 128, 16383, 16384, 2097151, 2097152, 0x0FFFFFFF])
def test_delta_times_have_one_to_four_bytes(delta: int) -> None:
    # The examples of SMF 1.0, Conventions.
    track, _ = read(on(delta, 60))
    assert track.messages.ticks.tolist() == [delta]


def test_leading_zero_bytes_of_a_delta_time_are_legal() -> None:
    track, warnings = read(b"\x80\x80\x80\x05\x90\x3c\x50")
    assert track.messages.ticks.tolist() == [5]
    assert not warnings


def test_a_fifth_byte_of_a_delta_time_stops_the_track() -> None:
    data = on(0, 60) + b"\x81\x80\x80\x80\x00" + off(0, 60)[1:] + END
    places = find_events(data, 0, len(data), 1000)
    assert places.damage is not None
    assert places.damage[0] == "delta-time-too-long"
    assert places.damage[2] == 4
    assert list(places.starts) == [0]


def test_running_status_holds_over_messages_of_either_size() -> None:
    track, warnings = read(program(0, 40), b"\x01\x29", b"\x01\x2a", on(1, 60), b"\x01\x3e\x40")
    assert track.messages.kind.tolist() == [12, 12, 12, 9, 9]
    assert track.messages.data1.tolist() == [40, 41, 42, 60, 62]
    assert track.messages.data2.tolist() == [0, 0, 0, 80, 64]
    assert not warnings


def test_a_first_event_without_status_is_damage() -> None:
    data = b"\x00\x3c\x50" + END
    places = find_events(data, 0, len(data), 1000)
    assert places.damage is not None
    assert places.damage[0] == "no-running-status"
    assert not places.starts


@pytest.mark.parametrize("between", [meta(1, b"x"), b"\x00\xf0\x02\x01\xf7", b"\x00\xf2\x01\x02"])
def test_running_status_behind_other_events_is_believed_and_reported(between: bytes) -> None:
    track, warnings = read(on(0, 60), between, b"\x05\x3e\x50", between, b"\x05\x40\x50")
    assert track.messages.data1.tolist() == [60, 62, 64]
    found = [warning for warning in warnings if warning.code == "running-status-broken"]
    assert [warning.byte_offset for warning in found] == [len(on(0, 60) + between) + 1]
    assert "2 messages" in found[0].message


@pytest.mark.parametrize(
    ("status", "size"),
    [(0xF1, 1), (0xF2, 2), (0xF3, 1), (0xF4, 0), (0xF6, 0), (0xF8, 0), (0xFE, 0)],
)
def test_system_messages_are_dropped_and_their_time_kept(status: int, size: int) -> None:
    track, warnings = read(on(0, 60), event(7, status, *[1] * size), off(3, 60))
    assert track.messages.ticks.tolist() == [0, 10]
    assert [warning.code for warning in warnings] == ["system-message-in-track"]
    assert warnings[0].byte_offset == 5


def test_exclusive_messages_and_escapes_are_stepped_over_by_length() -> None:
    long = b"\x00\xf0" + number(300) + bytes(299) + b"\xf7"
    packet = b"\x00\xf0\x02\x01\x02" + b"\x05\xf7\x02\x03\xf7"
    escape = b"\x00\xf7\x03\xf3\x01\xfa"
    track, warnings = read(long, packet, escape, on(1, 60))
    assert track.messages.ticks.tolist() == [6]
    assert track.messages.event_index.tolist() == [4]
    assert not warnings


def test_a_strength_above_127_counts_as_127() -> None:
    track, warnings = read(
        event(0, 0xB0, 7, 200), event(0, 0x90, 60, 255), event(0, 0xD0, 130), control(0, 1, 3)
    )
    assert track.messages.data2.tolist() == [127, 127, 0, 3]
    assert track.messages.data1.tolist() == [7, 60, 127, 1]
    assert [warning.code for warning in warnings] == ["value-above-127"]
    assert "3 values" in warnings[0].message
    assert warnings[0].byte_offset == 3


def test_a_pitch_is_never_clamped() -> None:
    track, warnings = read(
        event(0, 0x90, 200, 80), event(0, 0xB0, 168, 5), event(0, 0xE0, 0, 200), on(0, 60)
    )
    assert track.messages.data1.tolist() == [60]
    assert track.messages.event_index.tolist() == [3]
    assert [warning.code for warning in warnings] == ["data-byte-above-127"]
    assert "3 messages" in warnings[0].message
    assert warnings[0].byte_offset == 2


def test_ports_hold_from_where_they_are_named() -> None:
    track, _ = read(
        control(0, 7, 1), meta(0x21, b"\x01"), on(0, 60), meta(0x21, b"\x03"), on(0, 62)
    )
    assert track.messages.port.tolist() == [1, 1, 3]


def test_unknown_metas_are_stepped_over() -> None:
    track, warnings = read(meta(0x4D, b"yut\x00"), meta(0x60), meta(0x7F, bytes(200)), on(2, 60))
    assert track.messages.ticks.tolist() == [2]
    assert not track.metas
    assert not warnings


def test_metas_keep_their_bytes_and_places() -> None:
    track, _ = read(on(3, 60), meta(6, b"Letter A", 4))
    (marker,) = track.metas
    assert (marker.kind, marker.content, marker.tick) == (6, b"Letter A", 7)
    assert (marker.byte_offset, marker.data_offset, marker.event_index) == (5, 8, 1)


def test_a_book_in_a_text_is_cut_and_reported() -> None:
    track, warnings = read(meta(1, b"a" * (MAX_TEXT_BYTES + 5)), on(0, 60))
    assert len(track.metas[0].content) == MAX_TEXT_BYTES + 1
    assert [warning.code for warning in warnings] == ["text-cut"]
    assert len(track.messages) == 1


def test_too_many_metas_stop_the_track() -> None:
    data = meta(1, b"a") * 5 + END
    places = find_events(data, 0, len(data), 3)
    assert places.damage is not None
    assert places.damage[0] == "too-many-meta-events"
    assert len(places.starts) == 3


def test_a_length_of_more_than_four_bytes_stops_the_track() -> None:
    data = on(0, 60) + b"\x00\xff\x01\x81\x80\x80\x80\x00" + END
    places = find_events(data, 0, len(data), 100)
    assert places.damage is not None
    assert places.damage[0] == "event-length-too-long"
    assert len(places.starts) == 1


@pytest.mark.parametrize("cut", range(1, 8))
def test_an_event_that_does_not_fit_is_left_out(cut: int) -> None:
    data = on(0, 60) + meta(6, b"mark")
    places = find_events(data, 0, len(data) - cut, 100)
    assert places.cut_at == 4
    assert list(places.starts) == [0]
    assert not places.others


def test_nothing_behind_the_end_of_track_is_read() -> None:
    data = on(0, 60) + END + off(480, 60) + END
    places = find_events(data, 0, len(data), 100)
    assert places.is_ended
    assert places.after == len(on(0, 60) + END)
