"""What the name of a track says: instrument, section, desk, solo and stroke."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from mockcheck.instruments import vocabulary
from mockcheck.read._sections import SECTIONS_OF_VIOLINS, section_and_desk, section_number
from mockcheck.read._tokens import Match, Token, fold, matches, tokens

ENSEMBLE = "strings"
_TOO_MANY_STROKES = 3


@dataclass(frozen=True)
class TrackName:
    """What one name says; None and empty where it says nothing.

    Parameters
    ----------
    instrument
        Instrument id; 'strings' for the whole body or for several instruments.
    is_doubtful
        True for words that may also mean something else, such as 'Bass'; `not_beside` are then
        the other instruments in whose company they do.
    other
        What else the name names, as in 'flute'. Beside an instrument, the two disagree, and
        `ends_on_other` says which word came last.
    section
        1 for first violins and so on.
    desk
        'a' or 'desk 2' for part of a section.
    articulation, manner
        One of the trade's names for strokes; and the way of playing in any words, which tells
        apart tracks of one part.
    has_bowing_word
        True for a word that stands only on strings' tracks, such as 'pizz'.
    is_title
        True for the name of a whole work ('Violin Sonata').
    is_placeholder
        True for no name at all, or one like 'Track 3'.
    """

    instrument: str | None = None
    is_doubtful: bool = False
    not_beside: frozenset[str] = frozenset()
    other: str | None = None
    ends_on_other: bool = False
    section: int | None = None
    desk: str = ""
    is_solo: bool = False
    articulation: str | None = None
    manner: str = ""
    has_bowing_word: bool = False
    is_title: bool = False
    is_placeholder: bool = False


@lru_cache(maxsize=1024)
def read_name(text: str) -> TrackName:
    """Names of tracks follow a few customs in English, Italian, German and French.

    Parameters
    ----------
    text
        A track, instrument or program name, in any case, with any prefix.

    Returns
    -------
    What it says. Source of the customs: common practice, no source.
    """
    name = tokens(text)
    found = matches(name)
    instrument, mentions, is_doubtful = _instrument(name, found)
    other, ends_on_other = _other(found, [] if is_doubtful else mentions)
    if other is not None and is_doubtful:
        # 'Bass Drum', 'Alto Flute': the other word is the noun.
        instrument, mentions, is_doubtful = None, [], False
    section, desk = section_and_desk(name, found, mentions, instrument)
    articulation, manner = _way_of_playing(found)
    return TrackName(
        instrument=instrument,
        is_doubtful=is_doubtful,
        not_beside=_rivals(name, mentions) if is_doubtful else frozenset(),
        other=other,
        ends_on_other=ends_on_other,
        section=section,
        desk=desk,
        is_solo=any("solo" in match.meanings for match in found),
        articulation=articulation,
        manner=manner,
        has_bowing_word=any("bowing" in match.meanings for match in found),
        is_title=any("title" in match.meanings for match in found),
        is_placeholder=instrument is None and other is None and _is_placeholder(name, found),
    )


def _instrument(name: list[Token], found: list[Match]) -> tuple[str | None, list[Match], bool]:
    """The instrument named, where it is named, and whether that is doubtful."""
    named = [(match, _named_by(match, name)) for match in found]
    clear = [match for match, instrument in named if instrument is not None]
    players = {instrument for _, instrument in named if instrument not in (None, ENSEMBLE)}
    doubtful = [match for match in found if "doubtful" in match.meanings]
    if len(players) > 1 or (players and any(_is_joined(match, name) for match in doubtful)):
        return ENSEMBLE, clear, False
    if players:
        mentions = [match for match, instrument in named if instrument in players]
        return _variant(next(iter(players)), found), mentions, False
    if doubtful:
        # 'Str Bass', 'Bass pizz': the company settles it.
        is_settled = bool(clear) or _has(found, "bowing")
        return _variant(doubtful[-1].meanings["doubtful"], found), doubtful[-1:], not is_settled
    return (ENSEMBLE if clear else None), clear, False


def _named_by(match: Match, name: list[Token]) -> str | None:
    if "strings" in match.meanings:
        return match.meanings["strings"]
    number = section_number(name[match.end]) if match.end < len(name) else None
    is_numbered = number is not None and number <= SECTIONS_OF_VIOLINS
    return match.meanings.get("with number") if is_numbered else None


def _is_joined(match: Match, name: list[Token]) -> bool:
    """True for the basses in 'Celli e Bassi' or 'Cello/Bass'."""
    before = name[match.start - 1] if match.start else None
    return before is not None and (before.kind == "joiner" or before.text in vocabulary().joined)


def _variant(instrument: str | None, found: list[Match]) -> str | None:
    namings = vocabulary().namings
    for match in found:
        variant = match.meanings.get("variant")
        if variant is not None and namings[variant].variant_of == instrument:
            return variant
    return instrument


def _other(found: list[Match], mentions: list[Match]) -> tuple[str | None, bool]:
    """What else is named, and whether its word stands behind the strings' word."""
    others = [match for match in found if "other" in match.meanings]
    if mentions:
        # Beside an instrument 'cl' is no clarinet, and 'Synth Strings' are strings.
        soft = vocabulary().gives_way_to_strings
        others = [m for m in others if not _tells_way(m) and m.meanings["other"] not in soft]
    if not others:
        return None, False
    return others[-1].meanings["other"], not mentions or others[-1].start > mentions[-1].start


def _way_of_playing(found: list[Match]) -> tuple[str | None, str]:
    """The stroke, else the colour, in the trade's name; and the manner in any words."""
    strokes, colours, manners = (
        [key for key in known if any(match.meanings.get(kind) == key for match in found)]
        for kind, known in (
            ("stroke", vocabulary().strokes),
            ("colour", vocabulary().colours),
            ("manner", vocabulary().manners),
        )
    )
    plays_all = len(strokes) >= _TOO_MANY_STROKES or (
        "pizzicato" in strokes and "arco" in manners  # one track for both, switched in the music
    )
    if plays_all:
        return None, "several"
    articulation = next(iter(strokes + colours), None)
    return articulation, articulation or " ".join(manners)


def _tells_way(match: Match) -> bool:
    return not match.meanings.keys().isdisjoint({"stroke", "colour", "manner"})


def _has(found: list[Match], kind: str) -> bool:
    return any(kind in match.meanings for match in found)


def _rivals(name: list[Token], mentions: list[Match]) -> frozenset[str]:
    words = {token.text for match in mentions for token in name[match.start : match.end]}
    return frozenset().union(
        *(
            rivals
            for naming in vocabulary().namings.values()
            for word, rivals in naming.doubtful.items()
            if fold(word) in words
        )
    )


def _is_placeholder(name: list[Token], found: list[Match]) -> bool:
    words = {row for row, token in enumerate(name) if token.kind == "word" and len(token.text) > 1}
    for match in found:
        if "placeholder" in match.meanings:
            words -= set(range(match.start, match.end))
    return not words
