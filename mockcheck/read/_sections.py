"""Which section and which desk a track name means: 'Violini II', '2. Geige', 'Vln 1 div. a'."""

from __future__ import annotations

import re
from dataclasses import dataclass

from mockcheck.read._tokens import Match, Token

SECTIONS_OF_VIOLINS = 2
_LAST_SECTION = 16
"""Higher numbers behind an instrument count players, bars or versions."""
_LETTERS = "abcdefgh"
_PASSED_OVER = {"solo", "stroke", "colour", "manner", "variant", "strings", "bowing"}
_PASSED_OVER |= {"passed over", "placeholder", "doubtful"}

# One sign for each piece of a name: N number, O ordinal, L letter, J 'and', D divided, K desk,
# s passed over, x anything else.
_SECTION_BEHIND = re.compile(r"s*[NO](?P<both>J[NO])?")
_LETTER_BEHIND = re.compile(r"s*L(?!N)")
_DESK_BEHIND = re.compile(r"s*(?:D[sJ]*(?P<share>[NL])|K(?P<desk>N)|(?P<letter>L)(?!N))")
_SECTION_BEFORE = re.compile(r"(?P<section>[NO])s*$")


@dataclass(frozen=True)
class _Piece:
    sign: str
    number: int | None
    text: str
    is_firm: bool
    """True for '2nd' and 'secondo', False for '2.' and 'II', which may count tracks."""


def section_number(token: Token) -> int | None:
    """The number a token stands for, in digits or Roman; None for anything else."""
    roman = {"i": 1, "ii": 2, "iii": 3, "iv": 4}
    number = token.number if token.number is not None else roman.get(token.text)
    return number if number is not None and 1 <= number <= _LAST_SECTION else None


def section_and_desk(
    name: list[Token], found: list[Match], mentions: list[Match], instrument: str | None
) -> tuple[int | None, str]:
    """Section and desk that stand around an instrument's name.

    Parameters
    ----------
    name, found
        The name in pieces, and the known words in it.
    mentions
        The words that name the instrument.
    instrument
        Its id; two numbered sections are the custom for violins only.

    Returns
    -------
    The section or None, and the desk or ''. Source: common practice, no source.
    """
    is_violin = instrument == "violin"
    for mention in mentions:
        behind = _pieces(name, found, mention.end, len(name))
        before = _pieces(name, found, 0, mention.start)
        section, desk = _behind(behind, is_violin)
        section = section or _before(before, is_violin)
        if section or desk:
            return section, desk
    return None, ""


def _pieces(name: list[Token], found: list[Match], start: int, end: int) -> list[_Piece]:
    at = {match.start: match for match in found}
    pieces, row = [], start
    while row < end:
        match = at.get(row)
        following = name[row + 1] if row + 1 < end else None
        pieces.append(_piece(name[row], match, following))
        row = match.end if match is not None else row + 1
    return pieces


def _piece(token: Token, match: Match | None, following: Token | None) -> _Piece:
    meanings = match.meanings if match is not None else {}
    is_phrase = match is not None and match.end - match.start > 1
    number = None if is_phrase else section_number(token)
    if "ordinal" in meanings:
        return _Piece("O", int(meanings["ordinal"]), token.text, is_firm=True)
    if token.kind == "joiner" or ("joined" in meanings and following is not None):
        sign = "J"
    elif number is not None:
        sign = "O" if token.kind != "number" else "N"
    elif "divided" in meanings or "desk" in meanings:
        sign = "D" if "divided" in meanings else "K"
    elif token.text in tuple(_LETTERS) and not is_phrase:
        sign = "L"
    else:
        sign = "x" if _PASSED_OVER.isdisjoint(meanings) else "s"
    return _Piece(sign, number, token.text, is_firm=token.kind == "ordinal")


def _behind(pieces: list[_Piece], is_violin: bool) -> tuple[int | None, str]:
    signs = "".join(piece.sign for piece in pieces)
    section, at = None, 0
    if numbered := _SECTION_BEHIND.match(signs):
        at = numbered.end()
        if numbered["both"] is None:
            section = pieces[at - 1].number
    elif is_violin and (lettered := _LETTER_BEHIND.match(signs)):
        # 'Violin A' and 'Violin B' are the two sections; 'Viola A' is half of the violas.
        at = lettered.end()
        section = _LETTERS.index(pieces[at - 1].text) + 1
    return section, _desk(pieces[at:], signs[at:])


def _desk(pieces: list[_Piece], signs: str) -> str:
    found = _DESK_BEHIND.match(signs)
    if found is None:
        return ""
    piece = pieces[found.end() - 1]
    if found["desk"]:
        return f"desk {piece.number}"
    if found["share"] and piece.number is not None:
        return _LETTERS[min(piece.number, len(_LETTERS)) - 1]
    return piece.text


def _before(pieces: list[_Piece], is_violin: bool) -> int | None:
    found = _SECTION_BEFORE.search("".join(piece.sign for piece in pieces))
    if found is None:
        return None
    piece = pieces[found.start("section")]
    is_numeral = piece.sign == "O" and is_violin and piece.number in (1, SECTIONS_OF_VIOLINS)
    return piece.number if piece.is_firm or is_numeral else None
