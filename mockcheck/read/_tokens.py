"""A track name cut into words and numbers, and the phrases that are known among them."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cache

from mockcheck.instruments import vocabulary

Phrase = tuple[str, ...]
_PIECES = re.compile(
    r"(?P<ordinal>\d+(?:st|nd|rd|th|d|ers?|e|[eè]re|[eè]mes?|°|º)(?![^\W_])|\d+\.(?=\s*[^\W\d_]))"
    r"|(?P<number>\d+)|(?P<word>[^\W\d_]+)|(?P<joiner>[&+/,])",
    re.IGNORECASE,
)
_INITIALS = re.compile(r"\b([^\W\d_])\.\s?([^\W\d_])\.")
_HUMPS = re.compile(r"(?<=[a-z])(?=[A-Z])|(?<=[A-Z])(?=[A-Z][a-z])")
_SHORTEST_PART, _SHORTEST_NOUN, _LONGEST_WORD = 3, 5, 40
_SECTION_TAILS = ("a", "b", "i", "ii")


@dataclass(frozen=True)
class Token:
    """One piece of a name; `kind` is word, number, ordinal, dotted (as in '2.') or joiner."""

    kind: str
    text: str
    number: int | None = None


@dataclass(frozen=True)
class Match:
    """Known words in a name: tokens `start` up to `end`, and what each lexicon says of them."""

    start: int
    end: int
    meanings: dict[str, str] = field(hash=False)


def fold(text: str) -> str:
    """A word without case and accents, so that 'DÉTACHÉ' and 'detache' are one."""
    return _bare(text).casefold()


def tokens(text: str) -> list[Token]:
    """Words and numbers of a name in order; run-together words are cut where that is sure."""
    return [token for piece in _pieces(text) for token in _cut(*piece)]


def matches(name: list[Token]) -> list[Match]:
    """Known phrases from left to right, the longest first, none overlapping."""
    lexicon, longest = _lexicon()
    found, start = [], 0
    while start < len(name):
        for end in range(min(len(name), start + longest), start, -1):
            meanings = lexicon.get(tuple(token.text for token in name[start:end]))
            if meanings:
                found.append(Match(start, end, meanings))
                start = end
                break
        else:
            start += 1
    return found


def _bare(text: str) -> str:
    decomposed = unicodedata.normalize("NFKD", text)
    return "".join(letter for letter in decomposed if not unicodedata.combining(letter))


def _pieces(text: str) -> Iterable[tuple[str, str]]:
    joined = _INITIALS.sub(r"\1\2 ", _bare(text.replace("º", "°")))
    for piece in _PIECES.finditer(joined):
        yield str(piece.lastgroup), piece.group()


def _cut(kind: str, text: str) -> list[Token]:
    if kind == "joiner":
        return [Token(kind, text)]
    if kind == "number":
        return [Token(kind, text, int(text[:6]))]
    if kind == "ordinal":
        number = int(re.match(r"\d{1,6}", text).group())  # type: ignore[union-attr]  # digits lead
        return [Token("dotted" if text.endswith(".") else kind, fold(text), number)]
    return [Token("word", word) for word in _words(text)]


def _words(text: str) -> list[str]:
    whole = text.casefold()
    if whole in _single_words():
        return [whole]
    numeral = re.fullmatch(r"(i{1,3}|iv)([a-h])", whole)
    if numeral:
        return list(numeral.groups())
    humps = [hump.casefold() for hump in _HUMPS.split(text)]
    if any(hump in _single_words() for hump in humps):
        return humps
    if len(whole) > _LONGEST_WORD:
        return [whole]
    return _compound(whole) or [_cut_short(whole) or _last_noun(whole)]


def _compound(word: str) -> list[str] | None:
    """A word as known words run together ('tremstring'), None where it is not."""
    known = _single_words()
    parts: list[list[str] | None] = [[]] + [None] * len(word)
    for end in range(_SHORTEST_PART, len(word) + 1):
        for start in range(end - _SHORTEST_PART + 1):
            before = parts[start]
            if before is not None and word[start:end] in known:
                parts[end] = [*before, word[start:end]]
                break
    for tail in _SECTION_TAILS:
        stem = parts[len(word) - len(tail)] if len(word) > len(tail) else None
        if parts[-1] is None and stem and word.endswith(tail):
            return [*stem, tail]
    return parts[-1]


def _cut_short(word: str) -> str | None:
    """The instrument's name that a word begins ('Violonc.'), if all that it may be agree."""
    if len(word) < _SHORTEST_NOUN:
        return None
    meant = {
        (kind, meanings[kind]): phrase[0]
        for phrase, meanings in _lexicon()[0].items()
        for kind in ("strings", "other")
        if len(phrase) == 1 and phrase[0].startswith(word) and kind in meanings
    }
    return next(iter(meant.values())) if len(meant) == 1 else None


def _last_noun(word: str) -> str:
    """The instrument that a German compound ends on: 'Altflöte' is a flute."""
    lexicon, _ = _lexicon()
    for start in range(1, len(word) - _SHORTEST_NOUN + 1):
        if "other" in lexicon.get((word[start:],), {}):
            return word[start:]
    return word


@cache
def _single_words() -> frozenset[str]:
    return frozenset(word for phrase in _lexicon()[0] for word in phrase if len(phrase) == 1)


def _phrase(words: str) -> Phrase:
    pieces = _pieces(words)
    return tuple(fold(text) for kind, text in pieces if kind != "joiner" or words == text)


@cache
def _lexicon() -> tuple[dict[Phrase, dict[str, str]], int]:
    """Every known phrase with its meanings by lexicon, and the length of the longest."""
    lexicon: dict[Phrase, dict[str, str]] = {}

    def learn(kind: str, meaning: str, words: Iterable[str]) -> None:
        for word in words:
            # The first meaning within one lexicon counts: the files list the likelier first.
            lexicon.setdefault(_phrase(word), {}).setdefault(kind, meaning)

    known = vocabulary()
    for instrument, naming in known.namings.items():
        learn("strings", instrument, (*naming.names, *naming.solo_names))
        learn("solo", "solo", naming.solo_names)
        learn("with number", instrument, naming.with_number)
        learn("doubtful", instrument, naming.doubtful)
        learn("variant", instrument, naming.marks)
    for kind, lists in (
        ("other", known.other_instruments),
        ("stroke", known.strokes),
        ("colour", known.colours),
        ("manner", known.manners),
        ("ordinal", {str(number): words for number, words in known.ordinals.items()}),
        ("roman", {str(number): (numeral,) for number, numeral in known.roman.items()}),
        ("bowing", {"bowing": known.only_strings}),
        ("solo", {"solo": known.solo}),
        ("divided", {"divided": known.divided}),
        ("desk", {"desk": known.desk}),
        ("joined", {"joined": known.joined}),
        ("passed over", {"passed over": known.passed_over}),
        ("placeholder", {"placeholder": known.placeholders}),
        ("title", {"title": known.titles}),
    ):
        for meaning, words in lists.items():
            learn(kind, meaning, words)
    return lexicon, max(len(phrase) for phrase in lexicon)
