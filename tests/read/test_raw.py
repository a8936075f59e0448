import numpy as np
import pytest

from mockcheck.read.raw import (
    CONTROLLER,
    counted,
    join_messages,
    unreadable,
)
from tests.read.building import control, messages_of, meta, off, on, raw_of


def test_a_note_on_with_velocity_0_is_no_note_on() -> None:
    # MIDI 1.0 Detailed Specification 4.2, Note On; Velocity.
    messages = messages_of(on(0, 60), on(10, 60, velocity=0), off(0, 60))
    assert messages.is_note_on.tolist() == [True, False, False]


def test_port_and_channel_together_name_a_place() -> None:
    messages = messages_of(meta(0x21, b"\x02"), on(0, 60, 1), on(0, 60, 16))
    assert messages.place.tolist() == [32, 47]


def test_controllers_are_found_by_number() -> None:
    messages = messages_of(control(0, 1, 5), on(0, 64), control(0, 64, 127), control(0, 11, 9))
    assert messages.controller_rows(64, 1).tolist() == [0, 2]
    assert messages.rows(CONTROLLER).tolist() == [0, 2, 3]


def test_joined_tables_keep_their_order_and_cannot_be_written_to() -> None:
    messages = messages_of(on(0, 60), off(480, 60))
    joined = join_messages([messages, messages.select(np.array([True, False]))])
    assert joined.ticks.tolist() == [0, 480, 0]
    with pytest.raises(ValueError, match="read-only"):
        joined.ticks[0] = 1


def test_a_track_knows_its_end_its_metas_and_whether_it_plays() -> None:
    track = raw_of(meta(3, b"a"), on(5, 60), meta(6, b"b", 7))
    assert track.end_ticks == 12
    assert track.has_notes
    assert [found.content for found in track.metas_of(6)] == [b"b"]
    assert not raw_of(control(0, 1, 1)).has_notes


def test_errors_say_where_and_what_to_do() -> None:
    error = unreadable("cue.mid", 1204, "this is wrong.", "Do that.")
    assert str(error) == "cue.mid, byte 1,204: this is wrong. Do that."
    assert str(unreadable("cue.mid", None, "Wrong.", "Do.")) == "cue.mid: Wrong. Do."


def test_counts_are_written_as_people_write_them() -> None:
    assert counted(1, "note") == "1 note"
    assert counted(1204, "note") == "1,204 notes"
    assert counted(2, "entry", "entries") == "2 entries"
