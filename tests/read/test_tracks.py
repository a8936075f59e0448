import numpy as np
import pytest

from mockcheck.read import read_bytes
from tests.read.building import (
    TEMPO_120,
    bend,
    codes,
    control,
    header,
    meta,
    off,
    on,
    program,
    score_of,
    smf,
    track,
)

# Standard MIDI Files 1.0, Formats 0, 1, and 2 and Meta-Events.


def test_notes_stand_in_order_of_onset_then_pitch_then_file() -> None:
    events = (on(0, 64), on(0, 60), on(0, 60, 1, 90), on(0, 60, 2), off(10, 64), on(0, 55))
    notes = score_of(track(*events)).tracks[1].notes
    assert notes.pitch.tolist() == [60, 60, 60, 64, 55]
    assert notes.velocity.tolist() == [80, 90, 80, 80, 80]
    assert notes.event_index.tolist() == [1, 2, 3, 0, 5]


def test_track_numbers_are_those_of_the_chunks() -> None:
    score = score_of(track(), track(on(0, 60), off(9, 60)), track(control(0, 1, 1, 5)))
    assert [found.index for found in score.tracks] == [0, 1, 2, 3]
    assert [len(found.notes) for found in score.tracks] == [0, 0, 1, 0]


def test_seconds_follow_the_tempo_of_the_whole_file() -> None:
    first = track(TEMPO_120, meta(0x51, b"\x0f\x42\x40", 480))
    notes = read_bytes(smf(first, track(on(240, 60), off(480, 60))), "a.mid").tracks[1].notes
    assert notes.onset_s.tolist() == [0.25]
    assert notes.release_s.tolist() == [1.0]
    assert notes.duration_s.tolist() == [0.75]


def test_patterns_have_their_own_time() -> None:
    one = track(TEMPO_120, on(480, 60), off(480, 60), meta(6, b"A"))
    two = track(meta(0x51, b"\x0f\x42\x40"), on(480, 60), off(480, 60), meta(6, b"B"))
    score = read_bytes(smf(one, two, smf_format=2), "a.mid")
    assert [found.notes.onset_s.tolist() for found in score.tracks] == [[0.5], [1.0]]
    assert [(mark.text, mark.time_s) for mark in score.markers] == [("A", 1.0), ("B", 2.0)]
    assert score.timeline is score.tracks[0].timeline


def test_all_tracks_of_format_1_share_one_time_line() -> None:
    score = score_of(track(on(0, 60), off(9, 60)))
    assert score.tracks[0].timeline is score.tracks[1].timeline is score.timeline


def test_a_program_at_the_tick_of_the_note_counts_for_it() -> None:
    # Common practice, no source: at one tick the program is meant to come first.
    events = (on(0, 60), program(0, 40), off(480, 60), on(0, 62), off(480, 62), program(0, 45))
    assert score_of(track(*events)).tracks[1].notes.program.tolist() == [40, 40]


def test_without_a_program_there_is_none() -> None:
    score = score_of(track(program(0, 40, 2), on(0, 60), off(480, 60), program(0, 45)))
    assert score.tracks[1].notes.program.tolist() == [-1]


def test_members_of_an_mpe_zone_play_the_managers_program_and_bend() -> None:
    # MIDI Polyphonic Expression 1.0, 2.3.
    setup = control(0, 101, 0) + control(0, 100, 6) + control(0, 6, 3) + program(0, 40)
    found = score_of(track(setup, bend(0, 4096), bend(0, 1024, 2), on(0, 60, 2), off(9, 60, 2)))
    assert found.tracks[1].notes.program.tolist() == [40]
    assert found.tracks[1].sounding_cents(2, np.array([0.0])).tolist() == [700]


def test_two_zones_on_one_track_are_pointed_out_and_the_busier_one_is_taken() -> None:
    lower = control(0, 101, 0) + control(0, 100, 6) + control(0, 6, 5)
    upper = control(0, 101, 0, 16) + control(0, 100, 6, 16) + control(0, 6, 5, 16)
    score = score_of(track(lower, upper, on(0, 60, 15), off(9, 60, 15)))
    assert score.tracks[1].mpe is not None
    assert score.tracks[1].mpe.zone == "upper"
    assert codes(score) == ["two-mpe-zones"]


def test_texts_keep_kind_place_and_track() -> None:
    first = track(TEMPO_120, meta(2, b"(c) us"), meta(6, b"Letter A", 480), meta(6, b"  "))
    second = track(meta(1, b"dolce"), meta(5, b"la", 240), meta(7, b"door", 240))
    score = read_bytes(smf(first, second), "a.mid")
    assert [(mark.tick, mark.text, mark.track) for mark in score.markers] == [(480, "Letter A", 0)]
    assert [(text.kind, text.text, text.tick, text.track) for text in score.texts] == [
        ("copyright", "(c) us", 0, 0),
        ("text", "dolce", 0, 1),
        ("lyric", "la", 240, 1),
        ("cue", "door", 480, 1),
    ]
    assert [text.time_s for text in score.texts] == [0, 0, 0.25, 0.5]


def test_names_of_track_instrument_device_and_program_are_kept() -> None:
    names = [meta(3, b"\x00"), meta(3, b"Vla\x00"), meta(3, b"other"), meta(4, b"Viola")]
    found = score_of(track(*names, meta(8, b"Warm"), meta(9, b"Port B"))).tracks[1]
    assert (found.name, found.name_bytes) == ("Vla", b"Vla\x00")
    assert found.instrument_name == "Viola"
    assert found.program_name == "Warm"
    assert found.device_name == "Port B"


def test_the_port_is_the_one_in_force_where_the_track_begins_to_send() -> None:
    ports = [meta(0x21, b"\x05"), meta(0x21, b"\x02")]
    assert score_of(track(*ports, on(0, 60), off(9, 60))).tracks[1].port == 2
    assert score_of(track(*ports)).tracks[1].port == 2
    assert score_of(track(on(0, 60), off(9, 60), meta(0x21, b"\x07"))).tracks[1].port == 7
    assert score_of(track(on(0, 60), off(9, 60))).tracks[1].port is None


def test_a_track_that_changes_its_port_is_pointed_out() -> None:
    score = score_of(
        track(
            meta(0x21, b"\x00"), on(0, 60), off(9, 60), meta(0x21, b"\x01"), on(0, 62), off(9, 62)
        )
    )
    assert codes(score) == ["several-ports"]


def test_the_end_of_a_track_is_its_last_event() -> None:
    found = score_of(track(on(0, 60), off(480, 60), end=b"\x87\x40\xff\x2f\x00")).tracks[1]
    assert found.end_ticks == 480 + 960


def test_a_hanging_note_is_held_to_the_end_of_its_track() -> None:
    notes = (
        score_of(track(on(0, 60), meta(1, b"x", 960)), track(meta(1, b"x", 4800))).tracks[1].notes
    )
    assert notes.hanging.tolist() == [True]
    assert notes.release_ticks.tolist() == [960]


def test_a_file_without_notes_is_still_a_score() -> None:
    score = score_of(track(control(0, 1, 1)))
    assert score.duration_s == 0
    assert sum(len(found.notes) for found in score.tracks) == 0


def test_every_event_is_counted() -> None:
    # Tempo and end in the first track; text, on, off, end in the second.
    assert score_of(track(meta(1, b"x"), on(0, 60), off(9, 60))).event_count == 6


@pytest.mark.parametrize("smf_format", [0, 1])
def test_the_head_of_the_file_is_kept(smf_format: int) -> None:
    data = header(smf_format, 1, 96) + track(TEMPO_120, on(0, 60), off(96, 60))
    score = read_bytes(data, "cue.mid")
    assert (score.file, score.smf_format, score.ticks_per_quarter) == ("cue.mid", smf_format, 96)


def test_warnings_go_from_the_file_to_its_tracks_in_order() -> None:
    odd = track(on(0, 60), off(0, 60), meta(0x59, b"\x09\x00"))
    score = read_bytes(header(1, 9) + odd + odd, "a.mid")
    assert [(found.code, found.track) for found in score.warnings] == [
        ("no-tempo", None),
        ("track-count", None),
        ("zero-length-notes", 0),
        ("senseless-key-signature", 0),
        ("zero-length-notes", 1),
        ("senseless-key-signature", 1),
    ]
    assert all(found.message[0].isupper() and found.message[-1] == "." for found in score.warnings)
