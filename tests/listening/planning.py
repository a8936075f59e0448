"""Which articulation each printed note has, and what the writer makes of the marks.

From the print: notes under one slur are legato; dots in a row under a slur, or a slur over one
repeated pitch, are portato; one dot alone under a slur leaves it legato; dots are staccato or,
faster than about five a second, spiccato; pizzicato, tremolo and trill as printed; anything else
is detache. One pitch four times or more at eight a second and faster is tremolo however it is
printed. Source: common practice; the rates are those of the published table of strokes that the
project keeps, 'about' made a band in which either is right.

Print has no mark for most other ways of playing: a seeded plan gives them to whole phrases.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import groupby, pairwise
from random import Random

from tests.listening.clock import Clock
from tests.listening.printed import PrintedNote, PrintedPart
from tests.listening.truth import TIMING_TELLS, TrueNote

BOUNCE_RATE, TREMOLO_RATE = 5.0, 8.0
"""Notes a second from which dots bounce and repetitions are a tremolo."""
_EITHER = 1.12
"""Within this factor of such a rate either name is right."""
_FEWEST_REPEATS, _FEWEST_TRILLED = 4, 6
_DRAWN = {
    "tremolo": (_FEWEST_REPEATS, (10.0, 14.0)),
    "trill": (_FEWEST_TRILLED, (8.5, 14.0)),
}
"""Fewest strokes, and strokes a second: tremolo unmeasured, trills as the published table has."""
_DRAWN_OUT = 0.25
"""Share of the phrases with switches in which such notes are drawn out all the same."""
_REST_S = 0.15
_LONGEST_PHRASE = 16

COLOURS = ("con sordino", "sul ponticello", "sul tasto")
_PLANNED = ("spiccato", "marcato", "portato", "col legno", "harmonic", *COLOURS)
_AS_PRINTED = 0.45
"""Share of the phrases that keep what is printed; the rest is dealt out evenly."""


@dataclass(frozen=True)
class Strike:
    """All notes of one part that begin together."""

    onset: int
    length: int
    notes: tuple[PrintedNote, ...]
    stroke: str
    also: tuple[str, ...] = ()
    slur: int = -1
    strokes_per_s: float = 0.0
    is_printed_out: bool = False

    @property
    def pitches(self) -> tuple[int, ...]:
        return tuple(note.pitch for note in self.notes)


def as_printed(part: PrintedPart, clock: Clock, is_plucked_bowed: bool = False) -> list[Strike]:
    """The strikes of a part with the articulation of the print.

    `is_plucked_bowed` reads plucked notes as bowed ones, for files that could not show plucking.
    """
    grouped = [tuple(group) for _, group in groupby(part.notes, key=lambda note: note.onset)]
    slurs = _slurs(grouped)
    strikes = []
    for notes, slur in zip(grouped, slurs, strict=True):
        length = max(note.length for note in notes)
        length_s = clock.second_at(notes[0].onset + length) - clock.second_at(notes[0].onset)
        stroke, also = _marked(notes, slur, length_s, is_plucked_bowed)
        is_slurred = stroke in ("legato", "portato")
        strikes.append(
            Strike(notes[0].onset, length, notes, stroke, also, slur if is_slurred else -1)
        )
    strikes = _parted_under_slurs(strikes)
    return _alternating(_repeated(strikes, clock), clock)


def _slurs(grouped: Sequence[tuple[PrintedNote, ...]]) -> list[int]:
    """Number of the slur of each onset; a slur ends at a rest whatever is printed."""
    numbers, current, joins = [], -1, False
    for place, notes in enumerate(grouped):
        if not joins:
            current += 1
        after = grouped[place + 1][0].onset if place + 1 < len(grouped) else -1
        reaches = max(note.onset + note.length for note in notes) >= after
        joins = after >= 0 and reaches and any(note.slurred for note in notes)
        numbers.append(current)
    counts = {number: numbers.count(number) for number in set(numbers)}
    return [number if counts[number] > 1 else -1 for number in numbers]


def _marked(
    notes: tuple[PrintedNote, ...], slur: int, length_s: float, is_plucked_bowed: bool
) -> tuple[str, tuple[str, ...]]:
    if any(note.pizzicato for note in notes) and not is_plucked_bowed:
        return "pizzicato", ()
    for mark in ("trill", "tremolo"):
        if any(getattr(note, mark) for note in notes):
            return mark, ()
    if slur >= 0:
        return "legato", ()
    if not any(note.dotted for note in notes):
        return "detache", ()
    rate = 1 / length_s
    names = ("spiccato", "staccato") if rate > BOUNCE_RATE else ("staccato", "spiccato")
    is_either = BOUNCE_RATE / _EITHER < rate < BOUNCE_RATE * _EITHER
    return names[0], names[1:] if is_either else ()


def _parted_under_slurs(strikes: list[Strike]) -> list[Strike]:
    """Dots in a row, or repetitions of one pitch, tell the bow to go on and the notes to be parted.

    One dot alone, as at the end of a slur, only makes its note short.
    """
    pitches: dict[int, set[tuple[int, ...]]] = {}
    for strike in strikes:
        pitches.setdefault(strike.slur, set()).add(strike.pitches)
    changed = list(strikes)
    for place, strike in enumerate(strikes):
        if strike.stroke != "legato":
            continue
        beside = strikes[max(place - 1, 0) : place + 2]
        in_a_row = sum(other.slur == strike.slur and _is_dotted(other) for other in beside)
        if len(pitches[strike.slur]) == 1 or (_is_dotted(strike) and in_a_row > 1):
            changed[place] = replace(strike, stroke="portato")
        elif _is_dotted(strike):
            changed[place] = replace(strike, also=("staccato",))
    return changed


def _is_dotted(strike: Strike) -> bool:
    return any(note.dotted for note in strike.notes)


def _gap_s(one: Strike, two: Strike, clock: Clock) -> float:
    return clock.second_at(two.onset) - clock.second_at(one.onset)


def _rows(
    strikes: list[Strike], leads_on: Sequence[bool], fewest: int
) -> Iterator[tuple[int, int]]:
    """First and last place of each row of at least so many in which each leads on to the next."""
    first = 0
    for place in range(len(strikes)):
        if place == len(strikes) - 1 or not leads_on[place]:
            if place - first + 1 >= fewest:
                yield first, place
            first = place + 1


def _repeated(strikes: list[Strike], clock: Clock) -> list[Strike]:
    """Fast repetitions are a tremolo, printed out or not."""
    parted = ("detache", "staccato", "spiccato", "portato")

    def leads_on(slowest: float) -> list[bool]:
        return [
            one.pitches == two.pitches
            and one.stroke in parted
            and two.stroke in parted
            and _gap_s(one, two, clock) * slowest <= 1
            for one, two in pairwise(strikes)
        ]

    changed = list(strikes)
    for first, last in _rows(strikes, leads_on(TREMOLO_RATE / _EITHER), _FEWEST_REPEATS):
        rate = (last - first) / max(_gap_s(strikes[first], strikes[last], clock), 1e-3)
        for place in range(first, last + 1):
            old = strikes[place]
            if rate >= TREMOLO_RATE and old.stroke != "portato":
                also = (old.stroke, *old.also) if rate < TREMOLO_RATE * _EITHER else ()
                changed[place] = replace(old, stroke="tremolo", also=also, is_printed_out=True)
            else:
                changed[place] = replace(old, also=(*old.also, "tremolo"))
    return changed


def _alternating(strikes: list[Strike], clock: Clock) -> list[Strike]:
    """Two neighbours in fast turn sound like a trill, whatever is printed; either name is right."""

    def is_step(one: Strike, two: Strike) -> bool:
        interval = abs(two.pitches[0] - one.pitches[0])
        is_fast = _gap_s(one, two, clock) * TREMOLO_RATE / _EITHER <= 1
        return len(one.pitches) == len(two.pitches) == 1 and 1 <= interval <= 3 and is_fast

    changed = list(strikes)
    returns = [
        is_step(one, two) and is_step(two, three) and one.pitches == three.pitches
        for one, two, three in zip(strikes, strikes[1:], strikes[2:], strict=False)
    ]
    for first, last in _rows(strikes, [*returns, False], _FEWEST_TRILLED - 1):
        for place in range(first, min(last + 2, len(strikes))):
            changed[place] = replace(changed[place], also=(*changed[place].also, "trill"))
    return changed


def phrases(strikes: list[Strike], clock: Clock) -> list[int]:
    """Number of the phrase of each strike: they end at rests, and between slurs when long."""
    numbers, current, count = [], 0, 0
    for place, strike in enumerate(strikes):
        before = strikes[place - 1] if place else None
        if before is not None:
            end_s = clock.second_at(before.onset + before.length)
            is_rest = clock.second_at(strike.onset) - end_s > _REST_S
            is_long = count >= _LONGEST_PHRASE and (strike.slur != before.slur or strike.slur < 0)
            if is_rest or is_long:
                current, count = current + 1, 0
        numbers.append(current)
        count += 1
    return numbers


def plan(strikes: list[Strike], clock: Clock, rng: Random, has_colours: bool) -> list[TrueNote]:
    """The notes of a part as they are meant; `has_colours` adds what print has no mark for.

    Without it the file is for listening to timing alone: tremolo and trills are drawn out, and
    those too short for it are plain notes.
    """
    numbers = phrases(strikes, clock)
    notes = []
    for phrase, group in groupby(range(len(strikes)), key=numbers.__getitem__):
        rows = list(group)
        override = None
        if has_colours:
            override = _override([strikes[row] for row in rows], clock, rng)
        draws_out = not has_colours or rng.random() < _DRAWN_OUT
        for row in rows:
            strike, after = strikes[row], strikes[row + 1 : row + 2]
            is_alone = not after or strike.onset + strike.length <= after[0].onset
            drawn = _drawn(strike, clock, rng if draws_out and is_alone else None, has_colours)
            notes += _meant(drawn, override, phrase)
    return notes


def _drawn(strike: Strike, clock: Clock, rng: Random | None, has_colours: bool) -> Strike:
    """A tremolo or trill that can be drawn out is, if there is a rate to be drawn."""
    if strike.stroke == "portato" and not has_colours:
        # Gaps alone do not show one bow under them.
        return replace(strike, also=(*strike.also, "detache"))
    if strike.stroke not in ("tremolo", "trill") or strike.is_printed_out:
        return strike
    length_s = clock.second_at(strike.onset + strike.length) - clock.second_at(strike.onset)
    fewest, rates = _DRAWN[strike.stroke]
    is_single = strike.stroke == "tremolo" or len(strike.notes) == 1
    if rng is not None and is_single and length_s * rates[0] >= fewest + 1:
        return replace(strike, strokes_per_s=rng.uniform(*rates))
    return strike if has_colours else replace(strike, stroke="detache")


def _override(phrase: list[Strike], clock: Clock, rng: Random) -> str | None:
    """What the plan gives to a phrase, None for what is printed."""
    wanted = None if rng.random() < _AS_PRINTED else rng.choice(_PLANNED)
    strokes = {strike.stroke for strike in phrase}
    if wanted is None or strokes & {"pizzicato", "tremolo", "trill"}:
        return None
    lengths_s = sorted(
        clock.second_at(strike.onset + strike.length) - clock.second_at(strike.onset)
        for strike in phrase
    )
    middle_s = lengths_s[len(lengths_s) // 2]
    fits = {
        "spiccato": middle_s <= 0.35,
        "col legno": middle_s <= 0.6,
        "marcato": middle_s >= 0.2,
        "harmonic": middle_s >= 0.25,
    }
    return wanted if fits.get(wanted, True) else None


def _meant(strike: Strike, override: str | None, phrase: int) -> list[TrueNote]:
    is_colour = override is None or override in COLOURS
    is_struck = strike.strokes_per_s > 0 or strike.is_printed_out
    is_held_down = strike.stroke in ("tremolo", "trill") and not is_struck
    return [
        TrueNote(
            onset=note.onset,
            length=note.length,
            pitch=note.pitch,
            articulation=override or strike.stroke,
            manner=strike.stroke if is_colour else override or "",
            also=() if override else strike.also,
            strokes_per_s=strike.strokes_per_s,
            slur=strike.slur if is_colour or override == "portato" else -1,
            phrase=phrase,
            timing_tells=(override or strike.stroke) in TIMING_TELLS and not is_held_down,
        )
        for note in strike.notes
    ]
