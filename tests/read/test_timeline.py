import pytest

from mockcheck.model.score import KeySignature
from mockcheck.read import read_bytes
from tests.read.building import codes, header, meta, off, on, smf, track

# Standard MIDI Files 1.0, Set Tempo, Time Signature, Key Signature, SMPTE Offset. Seconds are
# ticks * microseconds / 1e6 / division by hand.

LINE = track(on(0, 60), off(480, 60))


def tempo(us_per_quarter: int, delta: int = 0) -> bytes:
    return meta(0x51, us_per_quarter.to_bytes(3, "big"), delta)


def test_time_is_the_sum_over_pieces_of_tempo() -> None:
    first = track(tempo(500_000), tempo(1_000_000, 480), tempo(250_000, 240))
    map_ = read_bytes(smf(first, LINE), "a.mid").tempo_map
    assert map_.ticks.tolist() == [0, 480, 720]
    assert map_.time_s.tolist() == [0.0, 0.5, 1.0]
    assert map_.bpm == (120.0, 60.0, 240.0)
    assert map_.second_at(1200) == pytest.approx(1.25)
    assert not map_.assumed


def test_many_changes_add_up_without_drift() -> None:
    # 10,000 ticks of one third of a second each, 333,333 us: 3,333.33 s exactly.
    first = track(*[tempo(333_333, 1)] * 10_000)
    map_ = read_bytes(smf(first, LINE, division=1), "a.mid").tempo_map
    assert map_.time_s[-1] == (500_000 + 9_999 * 333_333) / 1e6


def test_at_one_tick_the_first_track_counts_and_its_last_tempo_there() -> None:
    first = track(tempo(400_000), tempo(600_000))
    second = track(tempo(300_000), on(0, 60), off(480, 60))
    score = read_bytes(smf(first, second), "a.mid")
    assert score.tempo_map.bpm == (100.0,)
    assert codes(score) == ["different-tempos", "tempo-not-in-first-track"]


def test_the_same_tempo_twice_is_no_fault() -> None:
    score = read_bytes(smf(track(tempo(400_000), tempo(400_000)), LINE), "a.mid")
    assert codes(score) == []


@pytest.mark.parametrize("content", [b"\x00\x00\x00", b"\x00\x03\xe7", b"\x07\xa1", b""])
def test_a_tempo_without_sense_is_ignored(content: bytes) -> None:
    score = read_bytes(smf(track(tempo(600_000), meta(0x51, content, 480)), LINE), "a.mid")
    assert score.tempo_map.bpm == (100.0,)
    assert codes(score) == ["senseless-tempo"]


@pytest.mark.parametrize("us_per_quarter", [1_000, 2**24 - 1])
def test_the_fastest_and_slowest_tempo_are_kept(us_per_quarter: int) -> None:
    score = read_bytes(smf(track(tempo(us_per_quarter)), LINE), "a.mid")
    assert score.tempo_map.bpm == (60e6 / us_per_quarter,)


def test_four_four_holds_until_something_else_is_said() -> None:
    first = track(tempo(500_000), meta(0x58, b"\x06\x03\x24\x08", 1920))
    meter = read_bytes(smf(first, LINE), "a.mid").meter_map
    assert meter is not None
    assert meter.ticks.tolist() == [0, 1920]
    assert meter.numerators.tolist() == [4, 6]
    assert meter.denominators.tolist() == [4, 8]


def test_a_short_time_signature_still_says_the_metre() -> None:
    score = read_bytes(smf(track(tempo(500_000), meta(0x58, b"\x03\x02")), LINE), "a.mid")
    assert score.meter_map is not None
    assert score.meter_map.numerators.tolist() == [3]
    assert codes(score) == []


@pytest.mark.parametrize("content", [b"\x00\x02\x18\x08", b"\x04\xff\x18\x08", b"\x04", b""])
def test_a_metre_without_sense_is_ignored(content: bytes) -> None:
    score = read_bytes(smf(track(tempo(500_000), meta(0x58, content)), LINE), "a.mid")
    assert score.meter_map is not None
    assert score.meter_map.numerators.tolist() == [4]
    assert codes(score) == ["senseless-time-signature"]


def test_different_metres_at_one_tick_are_reported() -> None:
    first = track(tempo(500_000), meta(0x58, b"\x03\x02\x18\x08"))
    second = track(meta(0x58, b"\x05\x02\x18\x08"), on(0, 60), off(480, 60))
    score = read_bytes(smf(first, second), "a.mid")
    assert score.meter_map is not None
    assert score.meter_map.numerators.tolist() == [3]
    assert codes(score) == ["different-time-signatures"]


def test_keys_are_sharps_or_flats_and_a_mode() -> None:
    first = track(tempo(500_000), meta(0x59, b"\xfd\x01"), meta(0x59, b"\x07\x00", 960))
    keys = read_bytes(smf(first, LINE), "a.mid").key_signatures
    assert keys == (KeySignature(0, -3, True), KeySignature(960, 7, False))


@pytest.mark.parametrize("content", [b"\x08\x00", b"\xf8\x00", b"\x01\xff", b"\x01", b""])
def test_a_wrong_key_never_stops_the_file(content: bytes) -> None:
    score = read_bytes(smf(track(tempo(500_000), meta(0x59, content)), LINE), "a.mid")
    assert score.key_signatures == ()
    assert codes(score) == ["senseless-key-signature"]


def test_keys_of_transposing_instruments_are_no_fault() -> None:
    second = track(meta(0x59, b"\x02\x00"), on(0, 60), off(480, 60))
    score = read_bytes(smf(track(tempo(500_000), meta(0x59, b"\x00\x00")), second), "a.mid")
    assert score.key_signatures == (KeySignature(0, 0, False),)
    assert codes(score) == []


@pytest.mark.parametrize(
    ("content", "expected"),
    [(b"\x21\x02\x03\x18\x00", "01:02:03:24"), (b"\x61\x3b\x3b\x1d\x63", "01:59:59:29")],
)
def test_the_start_timecode_is_hours_minutes_seconds_frames(content: bytes, expected: str) -> None:
    score = read_bytes(smf(track(tempo(500_000), meta(0x54, content)), LINE), "a.mid")
    assert score.start_timecode == expected


@pytest.mark.parametrize("content", [b"\x1f\x00\x00\x00\x00", b"\x21\x00\x00\x19\x00", b"\x01\x02"])
def test_a_timecode_that_cannot_be_is_ignored(content: bytes) -> None:
    score = read_bytes(smf(track(tempo(500_000), meta(0x54, content)), LINE), "a.mid")
    assert score.start_timecode is None
    assert codes(score) == ["senseless-timecode"]


def test_frames_give_even_time_whatever_the_tempo() -> None:
    data = header(1, 2, 0xE728) + track(tempo(900_000)) + LINE
    score = read_bytes(data, "a.mid")
    assert score.tracks[1].notes.release_s.tolist() == [0.48]
    assert score.tempo_map.bpm == ()
    assert codes(score) == []


def test_a_pattern_without_tempo_is_reported_by_its_track() -> None:
    data = smf(track(tempo(500_000), on(0, 60), off(9, 60)), LINE, smf_format=2)
    score = read_bytes(data, "a.mid")
    assert [(w.code, w.track) for w in score.warnings] == [("format-2", None), ("no-tempo", 1)]
    assert [found.timeline.tempo.assumed for found in score.tracks] == [False, True]


def test_a_file_without_tempo_says_so_once_and_names_no_track() -> None:
    score = read_bytes(smf(LINE, LINE), "a.mid")
    assert [(w.code, w.track) for w in score.warnings] == [("no-tempo", None)]
    assert score.tempo_map.bpm == (120.0,)
