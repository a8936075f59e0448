"""Names and words in the letters that every sequencer shows in a marker."""

from __future__ import annotations

import re
import unicodedata

_CYRILLIC = (
    "а=a б=b в=v г=g д=d е=e ж=zh з=z и=i й=y к=k л=l м=m н=n о=o п=p р=r с=s т=t у=u ф=f х=kh ц=ts"
    " ч=ch ш=sh щ=shch ъ= ы=y ь= э=e ю=yu я=ya ё=yo і=i ї=yi є=ye ґ=g ў=u"
)
_GREEK = (
    "α=a β=v γ=g δ=d ε=e ζ=z η=i θ=th ι=i κ=k λ=l μ=m ν=n ξ=x ο=o π=p ρ=r σ=s ς=s τ=t υ=y φ=f χ=ch"
    " ψ=ps ω=o"
)
_LATIN = "ß=ss æ=ae œ=oe ø=o ł=l đ=d ð=d þ=th ı=i"
_LETTERS = {pair[0]: pair[2:] for pair in f"{_CYRILLIC} {_GREEK} {_LATIN}".split()}
"""Letters that are no plain letter with an accent. Source: ISO 9 and ISO 843 simplified to sounds;
Latin letters as their languages write them where they are missing."""

_SIGNS = str.maketrans(
    {"♯": "#", "♭": "b", "♮": " natural", "°": "o", "×": "x", "→": "->", "⁄": "/"}
    | dict.fromkeys("‘’‚′", "'")
    | dict.fromkeys("“”„«»″", '"')
    | dict.fromkeys("‐‑‒–—−", "-")
    | dict.fromkeys("·•", "-")
)
_SYLLABLE = re.compile(r"(?:HIRAGANA|KATAKANA) LETTER (?:SMALL )?(\w+)$|HANGUL SYLLABLE (\w+)$")


def to_ascii(text: str) -> str:
    """One line of printable ASCII that reads much like the text.

    Accents go, Cyrillic, Greek, kana and Hangul are written by sound; signs without any sound in
    Latin letters (Chinese characters and the rarer scripts) are left out, never replaced by '?'.
    """
    # Composed and of full width first, so that a letter is one sign.
    signs = unicodedata.normalize("NFKC", text).translate(_SIGNS)
    plain = "".join(_plain(sign) for sign in signs)
    return " ".join(plain.split())


def _plain(sign: str) -> str:
    if sign.isascii():
        return sign if sign.isprintable() else " " * sign.isspace()
    if sign.isspace():
        return " "
    if (letters := _LETTERS.get(sign.lower())) is not None:
        return letters.capitalize() if sign.isupper() else letters
    if syllable := _SYLLABLE.match(unicodedata.name(sign, "")):
        return (syllable[1] or syllable[2]).lower()
    parts = unicodedata.normalize("NFKD", sign)
    return "".join(_plain(part) for part in parts) if parts != sign else ""
