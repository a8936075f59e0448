import pytest

from mockcheck.errors import UnreadableInput
from mockcheck.read import read_bytes, smf
from mockcheck.read.smf import MAX_EVENTS, read_smf
from tests.read.building import END, TEMPO_120, chunk, codes, header, off, on, track

# Standard MIDI Files 1.0, Header Chunks.

LINE = track(TEMPO_120, on(0, 60), off(480, 60))


def refusal(data: bytes) -> str:
    with pytest.raises(UnreadableInput) as error:
        read_smf(data, "cue.mid")
    return str(error.value)


@pytest.mark.parametrize(
    ("division", "ticks_per_quarter", "ticks_per_second"),
    [
        (1, 1, None),
        (480, 480, None),
        (32767, 32767, None),
        (0xE728, None, 1000.0),
        (0xE850, None, 24 * 80.0),
        (0xE250, None, 30 * 80.0),
        (0xE350, None, 80 * 30000 / 1001),
    ],
)
def test_division_counts_quarters_or_frames(
    division: int, ticks_per_quarter: int | None, ticks_per_second: float | None
) -> None:
    raw = read_smf(header(0, 1, division) + LINE, "cue.mid")
    assert raw.ticks_per_quarter == ticks_per_quarter
    assert raw.ticks_per_second == ticks_per_second


@pytest.mark.parametrize("division", [0x0000, 0xE700, 0xFF28, 0x8000])
def test_a_division_without_length_is_refused(division: int) -> None:
    text = refusal(header(0, 1, division) + LINE)
    assert text.startswith("cue.mid, byte 12: the division field")
    assert "Export the file again" in text


def test_a_longer_header_is_honoured() -> None:
    long = chunk(b"MThd", header()[8:] + b"MTrk")
    raw = read_smf(long + LINE, "cue.mid")
    assert len(raw.tracks) == 1
    assert not raw.warnings


@pytest.mark.parametrize("length", [0, 4, 7, 100, 2**32 - 1])
def test_a_wrong_header_length_is_forgiven(length: int) -> None:
    score = read_bytes(chunk(b"MThd", header()[8:], length) + LINE, "cue.mid")
    assert len(score.tracks[0].notes) == 1
    assert codes(score) == ["header-length"]


@pytest.mark.parametrize("size", range(4, 14))
def test_a_header_cut_short_is_refused(size: int) -> None:
    assert f"cue.mid, byte {size}: the header is cut short" in refusal(header()[:size])


@pytest.mark.parametrize(
    "data", [header(), header() + b"MTrk", header() + b"MTrk\x00\x00\x00\x09\x00"]
)
def test_a_file_without_a_track_that_can_be_read_is_refused(data: bytes) -> None:
    assert "no track that can be read was found" in refusal(data)


def test_unknown_formats_are_read_as_format_1() -> None:
    score = read_bytes(header(27905, 1) + LINE, "cue.mid")
    assert score.smf_format == 1
    assert codes(score) == ["unknown-format"]
    assert score.warnings[0].byte_offset == 8


@pytest.mark.parametrize("promised", [0, 1, 3, 65535])
def test_every_track_that_is_there_is_read(promised: int) -> None:
    score = read_bytes(header(1, promised) + LINE + LINE, "cue.mid")
    assert len(score.tracks) == 2
    assert "track-count" in codes(score)


def test_format_0_with_two_tracks_runs_together() -> None:
    score = read_bytes(header(0, 2) + LINE + track(on(480, 48), off(480, 48)), "cue.mid")
    assert score.tracks[1].notes.onset_s.tolist() == [0.5]
    assert codes(score) == ["format-0-tracks"]


def test_unknown_chunks_are_no_tracks() -> None:
    score = read_bytes(header() + chunk(b"XFIH", b"abc") + LINE + chunk(b"XFKM", b""), "cue.mid")
    assert len(score.tracks) == 1
    assert not score.warnings


@pytest.mark.parametrize(
    "junk", [b"\x00", b"\x00\x01\x02\x03\x04\x05\x06\x07\x08", b"MTrk", b"abc"]
)
def test_bytes_outside_chunks_are_stepped_over(junk: bytes) -> None:
    score = read_bytes(header(1, 2) + LINE + junk, "cue.mid")
    assert len(score.tracks[0].notes) == 1
    assert "bytes-outside-chunks" in codes(score)


def test_a_second_file_behind_the_first_is_not_mixed_in() -> None:
    score = read_bytes((header() + LINE) * 2, "cue.mid")
    assert len(score.tracks) == 1
    assert codes(score) == ["second-header"]


def test_offsets_count_from_the_start_of_the_outer_file() -> None:
    data = bytes(10) + header(1, 2) + LINE
    offsets = {warning.code: warning.byte_offset for warning in read_smf(data, "cue.mid").warnings}
    assert offsets == {"bytes-before-header": 0, "track-count": 20}


def test_no_tick_can_leave_the_exact_range_of_64_bit_numbers() -> None:
    # IEEE 754: whole numbers are exact up to 2**53.
    assert MAX_EVENTS * 0x0FFFFFFF < 2**53


def test_limits_are_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    data = header(1, 3) + LINE + LINE + LINE
    monkeypatch.setattr(smf, "MAX_TRACKS", 2)
    assert len(read_smf(data, "cue.mid").tracks) == 2
    assert "too-many-tracks" in [warning.code for warning in read_smf(data, "cue.mid").warnings]
    monkeypatch.setattr(smf, "MAX_EVENTS", 7)
    assert "more than 7 events" in refusal(data)


def test_meta_events_are_limited_over_the_whole_file(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(smf, "MAX_META_EVENTS", 3)
    raw = read_smf(header(1, 2) + LINE + track(TEMPO_120, TEMPO_120), "cue.mid")
    assert [found.incomplete for found in raw.tracks] == [False, True]
    assert [warning.code for warning in raw.warnings] == ["too-many-meta-events"]


def test_an_empty_track_is_still_a_track() -> None:
    assert len(read_smf(header() + chunk(b"MTrk", END), "cue.mid").tracks) == 1
