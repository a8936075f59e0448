"""The booth list as lines for the wall of a control room."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from mockcheck.infer.players import share_players
from mockcheck.model.words import count_of, place_words, printable
from mockcheck.plan.booth import Booth, Seats
from mockcheck.report.terminal import wrap

HEARING_CAUTION = (
    "Loud clicks and playback in headphones can hurt hearing: begin low, let each player set the"
    " level, and ask an audiologist or whoever is responsible for safety at work about limits."
)


def to_text(booth: Booth, width: int = 100) -> str:
    """What is in the headphones, how many there are, and who divides: one matter a paragraph."""
    lines: list[str] = []
    for text in (*_headphones(booth), *_open_questions(booth), *_sections(booth), HEARING_CAUTION):
        lines += wrap(text, width, "", "  ")
    return "\n".join(lines)


def _headphones(booth: Booth) -> Iterator[str]:
    if booth.pre_records:
        names = _named(record.name for record in booth.pre_records)
        yield f"In the headphones: click, and pre-records that the players tune to: {names}."
    else:
        yield "In the headphones: click alone; nothing stays that the players have to hear."
    players = count_of(booth.players, "player")
    brought = booth.own_headphones
    bring = "brings a pair" if brought == 1 else "bring their own"
    own = f"about {brought} {bring}, so " if brought else ""
    yield f"{players}, one headphone each; {own}provide {booth.headphones}."
    if booth.clicks:
        yield f"A click of the file's own: {_named(booth.clicks)}."
    if booth.replaced:
        names = _named(booth.replaced)
        yield f"Not in the headphones, since the brief says it does not stay: {names}."


def _open_questions(booth: Booth) -> Iterator[str]:
    unsaid = tuple(record.name for record in booth.pre_records if not record.is_said)
    if unsaid:
        yield (
            f"Taken to stay because no string player plays it: {_named(unsaid)}. Say stays = true"
            " or stays = false for it under [[tracks]] in the brief."
        )
    if booth.silent:
        yield f"To stay, but without notes in this file: {_named(booth.silent)}."
    if not booth.are_sizes_said:
        yield (
            'Section sizes are guessed. Give sections = "8.8.5.4.3", or each part under [players],'
            " in the brief."
        )


def _sections(booth: Booth) -> Iterator[str]:
    for seats in booth.seats:
        name = printable(seats.part)
        if not seats.players:
            yield f"{name}: nobody is booked, and the file has a part for it."
            continue
        desks = count_of(seats.desks, "desk")
        words = f"{name}: {count_of(seats.players, 'player')} at {desks}"
        if seats.part in booth.not_divided:
            yield f"{words}, all strings on one track; who divides where is not known."
        else:
            yield f"{words}; {_divided(seats)}."


def _divided(seats: Seats) -> str:
    if seats.place is None:
        return "never divides"
    where = f"divides in {seats.lines} at most, first at {place_words(seats.place, seats.place)}"
    if seats.short_by:
        more = count_of(seats.short_by, "player")
        return f"{where}: {more} too few; book more, or leave out a line"
    shares = share_players(seats.players, seats.lines)
    if len(set(shares)) == 1:
        return f"{where}: {count_of(shares[0], 'player')} to a line"
    return f"{where}: {' and '.join(map(str, shares))} players, from the top"


def _named(names: Iterable[str]) -> str:
    return ", ".join(printable(name) for name in names)
