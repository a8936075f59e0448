"""The answer in one sentence: whether these parts can go on the stands."""

from __future__ import annotations

from collections.abc import Sequence

from mockcheck.model.finding import Finding, Outcome, Severity
from mockcheck.model.review import Review
from mockcheck.model.session import Session
from mockcheck.model.words import count_of, counts_words, last_bar, place_list, printable

GUESS_BELOW = 0.7
"""A finding less sure than this is shown as resting on a guess."""

_FEW_PLACES = 3
_NUMBERS = "no one two three four five six seven eight nine ten".split()

LEVEL_WORDS = {
    "sight": "a section that reads at sight",
    "rehearsed": "players after a few run-throughs",
    "solo": "a soloist who has practised",
}


def level_words(session: Session) -> str:
    """'sight: a section that reads at sight'; of a level of the brief's own, whom it is like."""
    who = LEVEL_WORDS[session.level]
    if session.named_level is None:
        return f"{session.level}: {who}"
    share = session.tempo_share
    pace = "" if share == 1 else f", at {100 * share:.4g}% of the tempo"
    return f"{session.level_name}: like {who}{pace}"


def verdict(review: Review, *, is_alone: bool = False) -> str:
    """Whether anything stands in the way, and how much of it where.

    Remarks never do. What could not be checked is said, so that silence is not taken for praise;
    `is_alone` says that no list of it follows.
    """
    worst = review.worst()
    if worst is None or worst is Severity.REMARK:
        unchecked = any(o.outcome is not Outcome.RAN for o in review.outcomes)
        if not unchecked:
            return "Ready: nothing stands in the way."
        where = "" if is_alone else ": see 'Not checked' below"
        return f"Ready as far as could be checked{where}."
    places = [f for f in review.findings if f.accepted is None and f.severity is worst]
    where = f"in {_where(places)}{_guessed(places)}."
    if worst is Severity.IMPOSSIBLE:
        return f"Not ready: {_counted(len(places), 'impossible place')} {where}"
    return f"Ready but for {_extent(places, review.played.score.bar_count)}: {worst.label} {where}"


def _extent(places: Sequence[Finding], of_bars: int | None) -> str:
    """'two bars', '24 of 48 bars'; places where one goes over a bar line or there are no bars."""
    bars = {place.start.bar for place in places}
    if any(p.start.bar is None or last_bar(p.start, p.end) != p.start.bar for p in places):
        return _counted(len(places), "place")
    if len(bars) < len(_NUMBERS) or of_bars is None:
        return _counted(len(bars), "bar")
    return f"{len(bars):,} of {count_of(of_bars, 'bar')}"


def _counted(number: int, noun: str) -> str:
    """'one place', 'four places', '1,204 notes'."""
    words = count_of(number, noun)
    return f"{_number(number)} {words.partition(' ')[2]}"


def _number(number: int) -> str:
    return _NUMBERS[number] if number < len(_NUMBERS) else f"{number:,}"


def _where(places: Sequence[Finding]) -> str:
    parts = {place.part for place in places}
    if len(parts) > 1:
        return _counted(len(parts), "part")
    part = printable(places[0].part)
    if len(places) > _FEW_PLACES:
        return part
    return f"{part}, {place_list(place.start for place in places)}"


def _guessed(places: Sequence[Finding]) -> str:
    guesses = sum(place.confidence < GUESS_BELOW for place in places)
    if not guesses:
        return ""
    if guesses == len(places):
        return ", resting on a guess" if guesses == 1 else ", all resting on guesses"
    return f" ({_number(guesses)} resting on {'a guess' if guesses == 1 else 'guesses'})"


def counts_line(review: Review) -> str:
    """'1 impossible, 2 risky, 5 remarks', worst first; accepted ones apart."""
    words = counts_words(f for f in review.findings if f.accepted is None) or "no findings"
    accepted = sum(f.accepted is not None for f in review.findings)
    return f"{words}; {accepted} accepted and not counted" if accepted else words
