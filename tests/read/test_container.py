import struct

import pytest

from mockcheck.errors import UnreadableInput
from mockcheck.read.container import MAX_FILE_BYTES, find_midi
from tests.read.building import END, TEMPO_120, smf, track

MIDI = smf(track(TEMPO_120))


def riff(form: bytes, *chunks: tuple[bytes, bytes]) -> bytes:
    body = form
    for tag, content in chunks:
        body += tag + struct.pack("<I", len(content)) + content + b"\x00" * (len(content) % 2)
    return b"RIFF" + struct.pack("<I", len(body)) + body


def test_a_plain_file_is_all_midi() -> None:
    assert find_midi(MIDI, "a.mid") == (0, len(MIDI), [])


def test_a_riff_file_holds_midi_in_its_data_chunk() -> None:
    # RP-029; the odd chunk in front checks the padding.
    data = riff(b"RMID", (b"LIST", b"odd"), (b"data", MIDI), (b"LIST", b"more"))
    begin, end, warnings = find_midi(data, "a.rmi")
    assert data[begin:end] == MIDI
    assert not warnings


def test_a_riff_file_with_a_wrong_size_is_still_searched() -> None:
    data = b"RIFF\x00\x00\x00\x00RMIDdata\xff\xff\xff\x00" + MIDI
    begin, end, warnings = find_midi(data, "a.rmi")
    assert data[begin:end] == MIDI
    assert not warnings


# First bytes as the formats' own specifications give them, from memory; RFC 1740 for the macOS
# companion file, M2-116-U for MIDI clips.
@pytest.mark.parametrize(
    ("data", "kind"),
    [
        (riff(b"WAVE", (b"fmt ", bytes(16))), "WAV"),
        (b"FORM\x00\x00\x00\x20AIFFCOMM", "AIFF"),
        (b"ID3\x04\x00", "MP3"),
        (b"\xff\xfb\x90\x64", "MP3"),
        (b"fLaC\x00\x00\x00\x22", "FLAC"),
        (b"OggS\x00\x02", "Ogg"),
        (b"PK\x03\x04\x14\x00" + MIDI, "zip"),
        (b"\x1f\x8b\x08\x00", "gzip"),
        (b"%PDF-1.7", "PDF"),
        (b"\x89PNG\r\n\x1a\n", "picture"),
        (b"SMF2CLIP\x00\x20\x00\x00", "MIDI 2.0 clip"),
        (b"\x00\x05\x16\x07\x00\x02\x00\x00", "macOS companion"),
        (b'<?xml version="1.0"?><score-partwise/>', "text"),
        (b"Dear Sir, please find attached", "text"),
        (b"\x01\x02\x03\x04", "no MIDI file"),
    ],
)
def test_other_files_are_told_by_what_they_are(data: bytes, kind: str) -> None:
    with pytest.raises(UnreadableInput, match=rf"cue\.mid, byte [08]: this is .*{kind}") as error:
        find_midi(data, "cue.mid")
    assert str(error.value).endswith(".")


def test_an_empty_file_is_called_empty() -> None:
    with pytest.raises(UnreadableInput, match=r"cue\.mid, byte 0: the file is empty"):
        find_midi(b"", "cue.mid")


def test_bytes_before_the_header_are_stepped_over() -> None:
    data = bytes(128) + MIDI
    begin, end, (warning,) = find_midi(data, "a.mid")
    assert (begin, end) == (128, len(data))
    assert warning.code == "bytes-before-header"
    assert "128 bytes" in warning.message


def test_damaged_letters_of_the_header_are_forgiven() -> None:
    begin, _, (warning,) = find_midi(b"MThx" + MIDI[4:], "a.mid")
    assert begin == 0
    assert warning.code == "header-tag-damaged"


def test_tracks_without_any_header_cannot_be_timed() -> None:
    with pytest.raises(UnreadableInput, match="MThd was expected"):
        find_midi(track(TEMPO_120) + END, "a.mid")


def test_files_beyond_any_score_are_refused() -> None:
    class Huge(bytes):
        def __len__(self) -> int:
            return MAX_FILE_BYTES + 1

    with pytest.raises(UnreadableInput, match="larger than 256 MB"):
        find_midi(Huge(MIDI), "a.mid")
