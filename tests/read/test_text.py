import unicodedata

import pytest

from mockcheck.read.events import MAX_TEXT_BYTES
from mockcheck.read.text import TRACK_NAME, decode_text, first_text, track_label
from tests.read.building import meta, raw_of

# The bytes are what Python's own codecs, an independent implementation of the character sets,
# make of names as musicians write them.


@pytest.mark.parametrize(
    ("name", "codec"),
    [
        ("Violin 1", "ascii"),
        ("Контрабас", "utf-8"),
        ("très doux", "utf-8"),
        ("très doux", "latin-1"),
        ("Kontrabaß", "cp1252"),
        ("Señor – “solo”", "cp1252"),
        ("Violin’s line", "cp1252"),
        ("ÄÖÜ", "cp1252"),
        ("© 2020", "cp1252"),
        ("FLÛTE", "latin-1"),
        ("ヴァイオリン", "shift_jis"),
        ("第1ヴァイオリン", "shift_jis"),
        ("弦", "shift_jis"),
        ("バイオリン 1st", "shift_jis"),
        ("ｳﾞｧｲｵﾘﾝ", "shift_jis"),
        ("Скрипка 1", "cp1251"),
        ("АЛЬТЫ", "cp1251"),
        ("Cello", "utf-16"),
        ("Viola", "utf-8-sig"),
    ],
)
def test_names_come_out_as_they_were_written(name: str, codec: str) -> None:
    assert decode_text(name.encode(codec)) == name


@pytest.mark.parametrize("content", [bytes(range(256)), b"\x81", b"\xff\xfe\x00", b"\x8f\x90\x9d"])
def test_any_bytes_give_some_text(content: bytes) -> None:
    text = decode_text(content)
    assert not [sign for sign in text if unicodedata.category(sign) == "Cc"]


def test_nul_blanks_and_control_characters_are_not_shown() -> None:
    assert decode_text(b"  Violin 1\x00\x00 ") == "Violin 1"
    assert decode_text(b"a\x1b[31mb") == "a [31mb"
    assert decode_text(b"\x00\x00") == ""


def test_a_long_text_is_cut_without_harm_to_its_letters() -> None:
    text = decode_text("é".encode() * MAX_TEXT_BYTES)
    assert set(text) == {"é"}
    assert len(text) <= MAX_TEXT_BYTES


def test_the_first_name_that_is_not_blank_counts() -> None:
    track = raw_of(meta(3, b"\x00 "), meta(3, b"Viola\x00"), meta(3, b"Other"))
    assert first_text(track, TRACK_NAME) == ("Viola", b"Viola\x00")
    assert first_text(raw_of(), TRACK_NAME) == (None, None)


def test_messages_call_a_track_by_name_or_by_number_from_1() -> None:
    assert track_label(raw_of(meta(3, b"Viola"))) == "'Viola'"
    assert track_label(raw_of()) == "track 1"
