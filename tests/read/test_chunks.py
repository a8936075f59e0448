import pytest

from mockcheck.read import read_bytes
from mockcheck.read.chunks import chunk_size, find_headers, find_track, is_chunk_start
from tests.read.building import END, TEMPO_120, chunk, codes, header, meta, off, on, track

# Standard MIDI Files 1.0, Chunks: four letters, a length, that many bytes. What to do where the
# length lies is our rule: an end-of-track event is believed before a length.

VIOLIN = track(meta(3, b"Violin"), on(0, 67), off(480, 67))
CELLO = track(meta(3, b"Cello"), on(0, 48), off(480, 48))
BODY = VIOLIN[8:]


def file_of(*chunks: bytes) -> bytes:
    return header(1, 1 + len(chunks)) + track(TEMPO_120) + b"".join(chunks)


def names_and_notes(data: bytes) -> list[tuple[str | None, int]]:
    return [(found.name, len(found.notes)) for found in read_bytes(data, "a.mid").tracks]


BOTH = [(None, 0), ("Violin", 1), ("Cello", 1)]


@pytest.mark.parametrize("length", [0, 1, 5, 14, len(BODY) - 1, len(BODY) - 4])
def test_a_track_longer_than_it_says_is_read_to_its_end(length: int) -> None:
    data = file_of(chunk(b"MTrk", BODY, length), CELLO)
    assert names_and_notes(data) == BOTH
    assert codes(read_bytes(data, "a.mid")) == ["track-length-too-short"]


@pytest.mark.parametrize("length", [len(BODY) + 1, len(BODY) + 9, 10**6, 2**32 - 1])
def test_a_track_shorter_than_it_says_does_not_swallow_the_next(length: int) -> None:
    data = file_of(chunk(b"MTrk", BODY, length), CELLO)
    assert names_and_notes(data) == BOTH
    assert codes(read_bytes(data, "a.mid")) == ["track-length-too-long"]


def test_a_track_without_end_or_true_length_ends_at_the_next_header() -> None:
    data = file_of(chunk(b"MTrk", BODY[:-4], 2**31), CELLO)
    assert names_and_notes(data) == BOTH
    assert codes(read_bytes(data, "a.mid")) == ["track-length-too-long", "no-end-of-track"]


def test_a_row_of_tracks_without_ends_or_lengths_loses_none() -> None:
    bare = chunk(b"MTrk", BODY[:-4], 2**32 - 1)
    assert names_and_notes(file_of(bare, bare, bare)) == [(None, 0), *[("Violin", 1)] * 3]


def test_the_letters_mtrk_in_a_text_start_no_track() -> None:
    trap = meta(1, b"MTrk\x00\x00\x00\x00MTrk")
    data = file_of(track(meta(3, b"Violin"), trap, on(0, 67), off(480, 67)), CELLO)
    assert names_and_notes(data) == BOTH
    assert codes(read_bytes(data, "a.mid")) == []


def test_a_damaged_track_does_not_touch_the_next() -> None:
    broken = track(meta(3, b"Violin"), on(0, 67), off(480, 67), b"\xff\xff\xff\xff\xff", on(0, 69))
    data = file_of(broken, CELLO)
    score = read_bytes(data, "a.mid")
    assert names_and_notes(data) == BOTH
    assert [found.incomplete for found in score.tracks] == [False, True, False]
    assert codes(score) == ["delta-time-too-long"]


def test_a_meta_longer_than_its_track_ends_it() -> None:
    broken = track(meta(3, b"Violin"), on(0, 67), off(480, 67), b"\x00\xff\x01\x7fend", end=b"")
    data = file_of(broken, CELLO)
    assert names_and_notes(data) == BOTH
    assert codes(read_bytes(data, "a.mid")) == ["track-cut"]


def test_a_chunk_start_is_a_name_with_a_length_that_fits() -> None:
    data = chunk(b"XINF", b"12345") + b"\x00\x01"
    assert is_chunk_start(data, 0, len(data))
    assert chunk_size(data, 0) == 5
    assert not is_chunk_start(data, 0, len(data) - 3)
    assert not is_chunk_start(data, 1, len(data))
    assert is_chunk_start(b"MTrk\xff\xff\xff\xff", 0, 8)
    assert not is_chunk_start(b"MTrk\xff\xff\xff", 0, 7)


def test_headers_that_lead_nowhere_are_not_believed() -> None:
    data = VIOLIN + CELLO
    assert find_headers(data, 0, len(data)) == [0, len(VIOLIN)]
    spoilt = chunk(b"MTrk", BODY, 7) + CELLO
    assert find_headers(spoilt, 0, len(spoilt)) == [len(VIOLIN)]


def test_the_events_looked_at_are_counted_even_where_they_are_looked_at_twice() -> None:
    data = chunk(b"MTrk", BODY, 14) + END
    found = find_track(data, 0, len(data), [], 0, 100)
    assert found.walked > len(found.places.starts)
    assert found.next_chunk == len(VIOLIN)
