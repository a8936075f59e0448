"""Where in the bytes the MIDI file stands, or what the file is instead."""

from __future__ import annotations

from mockcheck.model.score import ReadWarning
from mockcheck.read.raw import counted, unreadable

MAX_FILE_BYTES = 256 * 1024 * 1024
"""Far above any score (a dense ten-minute mock-up has about 2 MB); keeps memory in bounds."""

HEADER_TAG = b"MThd"
TRACK_TAG = b"MTrk"

_MAGIC = (
    (b"\x00\x05\x16\x07", "a macOS companion file (its name starts with '._'), not MIDI",
     "Open the file of the same name without '._'."),
    (b"\x00\x05\x16\x00", "a macOS archive of a file and its attributes, not MIDI",
     "Copy the MIDI file out of it on the computer it comes from."),
    (b"SMF2CLIP", "a MIDI 2.0 clip file, which is not read",
     "Export the music as a Standard MIDI File (.mid)."),
    (b"FORM", "AIFF audio, not MIDI", "Export the notes as a Standard MIDI File (.mid)."),
    (b"ID3", "MP3 audio, not MIDI", "Export the notes as a Standard MIDI File (.mid)."),
    (b"\xff\xfb", "MP3 audio, not MIDI", "Export the notes as a Standard MIDI File (.mid)."),
    (b"\xff\xf3", "MP3 audio, not MIDI", "Export the notes as a Standard MIDI File (.mid)."),
    (b"fLaC", "FLAC audio, not MIDI", "Export the notes as a Standard MIDI File (.mid)."),
    (b"OggS", "Ogg audio, not MIDI", "Export the notes as a Standard MIDI File (.mid)."),
    (b"PK\x03\x04", "a zip archive (or compressed MusicXML), not MIDI",
     "Unpack it and give the .mid file inside."),
    (b"\x1f\x8b", "a gzip archive, not MIDI", "Unpack it and give the .mid file inside."),
    (b"Rar!", "a RAR archive, not MIDI", "Unpack it and give the .mid file inside."),
    (b"7z\xbc\xaf", "a 7z archive, not MIDI", "Unpack it and give the .mid file inside."),
    (b"%PDF", "a PDF document, not MIDI", "Export the notes as a Standard MIDI File (.mid)."),
    (b"\x89PNG", "a picture, not MIDI", "Export the notes as a Standard MIDI File (.mid)."),
    (b"\xff\xd8\xff", "a picture, not MIDI", "Export the notes as a Standard MIDI File (.mid)."),
)  # fmt: skip
"""First bytes, what such a file is, what to do. Source: the formats' own specifications
(AppleSingle/AppleDouble: RFC 1740), from memory."""


def find_midi(data: bytes, file: str) -> tuple[int, int, list[ReadWarning]]:
    """A MIDI file starts with MThd, or stands in the data chunk of a RIFF file of form RMID.

    Returns its first byte, the byte behind it, and warnings. Raises UnreadableInput that says
    what the file looks like when it is something else.

    Source: Standard MIDI Files 1.0, Header Chunks; RP-029 for RIFF.
    """
    if not data:
        raise unreadable(
            file, 0, "the file is empty; a MIDI header (MThd) was expected.", "Export it again."
        )
    if len(data) > MAX_FILE_BYTES:
        raise unreadable(
            file,
            MAX_FILE_BYTES,
            f"the file is larger than {MAX_FILE_BYTES // 1024**2} MB, more than any score needs.",
            "Check that it is a MIDI file, or export it in parts.",
        )
    if data.startswith(HEADER_TAG):
        return 0, len(data), []
    if data.startswith(b"RIFF"):
        return _find_in_riff(data, file)
    for magic, kind, advice in _MAGIC:
        if data.startswith(magic):
            raise unreadable(file, 0, f"this is {kind}; MThd was expected.", advice)
    return _find_after_junk(data, file)


def _find_in_riff(data: bytes, file: str) -> tuple[int, int, list[ReadWarning]]:
    form = data[8:12]
    if form == b"WAVE":
        raise unreadable(
            file,
            8,
            "this is WAV audio, not MIDI; the RIFF form RMID was expected.",
            "Export the notes as a Standard MIDI File (.mid).",
        )
    at = 12
    while at + 8 <= len(data):
        # Sizes are little-endian here, and chunks are padded to an even length.
        size = int.from_bytes(data[at + 4 : at + 8], "little")
        if data[at : at + 4] == b"data" and data[at + 8 : at + 12] == HEADER_TAG:
            return at + 8, min(at + 8 + size, len(data)), []
        at += 8 + size + size % 2
    return _find_after_junk(data, file)


def _find_after_junk(data: bytes, file: str) -> tuple[int, int, list[ReadWarning]]:
    begin = data.find(HEADER_TAG)
    track = data.find(TRACK_TAG)
    if begin < 0 and track >= 14 and data[track - 10 : track - 6] == b"\x00\x00\x00\x06":
        # Only the four letters are spoilt: length 6, three numbers and a track follow them.
        text = "The letters MThd at the start are damaged; the rest of the header was used."
        return track - 14, len(data), [ReadWarning("header-tag-damaged", text, None, track - 14)]
    if begin < 0:
        kind = "a text file" if _looks_like_text(data) else "no MIDI file, nor anything else known"
        raise unreadable(
            file,
            0,
            f"this is {kind}; MThd was expected.",
            "Give a Standard MIDI File (.mid) as your sequencer exports it.",
        )
    text = (
        f"Stepped over {counted(begin, 'byte')} before the header that are no MIDI. Export the"
        " file again if anything is missing."
    )
    return begin, len(data), [ReadWarning("bytes-before-header", text, None, 0)]


def _looks_like_text(data: bytes) -> bool:
    start = data[:1000]
    printable = sum(byte in b"\t\r\n" or 32 <= byte < 127 or byte > 159 for byte in start)
    return printable == len(start)
