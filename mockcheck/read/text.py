"""What a text meta event says, although files do not tell their character set."""

from __future__ import annotations

import codecs
import re
import unicodedata

from mockcheck.read.events import MAX_TEXT_BYTES
from mockcheck.read.raw import RawTrack

TRACK_NAME = 0x03

_JAPANESE = re.compile(r"[\u3000-\u30ff\u4e00-\u9fff\uff01-\uff9f]+")
_HALF_WIDTH = re.compile(r"[\uff61-\uff9f]+")
_HALF_WIDTH_BELOW_CAPITALS = "\uff7f"
"""The kana of byte BF; from C0 on the bytes are capital letters in Western character sets."""

_SHORTEST_WORD = 4
"""Letters in a row that no Western word writes with accents only."""

_KANJI_LEVEL_1_END = 0x98
"""Last lead byte of the common characters in Shift-JIS. Source: JIS X 0208, level 1."""

_BYTE_ORDER_MARKS = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)


def decode_text(content: bytes) -> str:
    """Names come as UTF-8, Shift-JIS, Cyrillic or Western text, without any mark.

    UTF-8 is tried strictly; then the first guess whose letters look like words; then Western
    text, and at last Latin-1, which cannot fail. Blanks, NULs and control characters at the ends
    are dropped; inside they become blanks.
    """
    return _clean(_decode(content[:MAX_TEXT_BYTES]))


def first_text(track: RawTrack, kind: int) -> tuple[str, bytes] | tuple[None, None]:
    """The first text of a kind that is not blank, and its bytes as they stand in the file."""
    for meta in track.metas_of(kind):
        text = decode_text(meta.content)
        if text:
            return text, meta.content[:MAX_TEXT_BYTES]
    return None, None


def track_label(track: RawTrack) -> str:
    """How messages call a track: by its name, or by its number, from 1."""
    name, _ = first_text(track, TRACK_NAME)
    return f"'{name}'" if name else f"track {track.index + 1}"


def _decode(content: bytes) -> str:
    for mark, codec in _BYTE_ORDER_MARKS:
        if content.startswith(mark):
            return content[len(mark) :].decode(codec, errors="replace")
    # A text cut at our limit may end inside a character; that is no reason to doubt the rest.
    decoder = codecs.getincrementaldecoder("utf-8")()
    try:
        return decoder.decode(content, final=len(content) < MAX_TEXT_BYTES)
    except UnicodeDecodeError:
        pass
    for codec, is_plausible in (
        ("cp932", _is_japanese),
        ("cp1251", _is_cyrillic),
        ("cp1252", lambda _content, _text: True),
    ):
        try:
            text = content.decode(codec)
        except UnicodeDecodeError:
            continue
        if is_plausible(content, text):
            return text
    return content.decode("latin-1")


def _clean(text: str) -> str:
    shown = "".join(" " if unicodedata.category(sign) == "Cc" else sign for sign in text)
    return shown.strip()


def _is_japanese(_content: bytes, text: str) -> bool:
    """Japanese signs come in common forms and in rows; a lone one between letters is an accent."""
    if not all(_is_common(sign) for sign in text):
        return False
    for run in _JAPANESE.finditer(text):
        neighbours = text[: run.start()][-1:] + text[run.end() :][:1]
        if len(run[0]) == 1 and any(map(str.isalpha, neighbours)):
            return False
        if _HALF_WIDTH.fullmatch(run[0]) and not _is_half_width_word(run[0]):
            return False
    return True


def _is_half_width_word(run: str) -> bool:
    """Half-width kana share their bytes with capitals of the West; small kana and marks do not."""
    below_capitals = sum(sign <= _HALF_WIDTH_BELOW_CAPITALS for sign in run)
    return len(run) >= _SHORTEST_WORD - 1 and below_capitals > 1


def _is_common(sign: str) -> bool:
    """Latin letters, kana, and the characters of level 1 with its signs."""
    if sign.isascii():
        return True
    code = sign.encode("cp932")
    return len(code) == 1 or code[0] <= _KANJI_LEVEL_1_END


def _is_cyrillic(_content: bytes, text: str) -> bool:
    """Russian words are Cyrillic through and through; no Western word is accents only."""
    words = re.findall(r"[^\W\d_]+", text)
    foreign = [word for word in words if not word.isascii()]
    return bool(foreign) and all(
        len(word) >= _SHORTEST_WORD
        and all("\u0400" <= sign <= "\u04ff" for sign in word)
        and word[1:] in (word[1:].lower(), word[1:].upper())
        for word in foreign
    )
