"""How long each note of a line is written: to the next one, unless it is clearly shorter.

Source: where notes end is the weak part of reading a rhythm, and for strings the next onset is the
better guess (from memory). Short strokes are shown by a dot, not by rests (common practice).
"""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from fractions import Fraction
from math import lcm, log

import numpy as np

from mockcheck.model.played import PlayedPart
from mockcheck.notation._measures import Measures, sounding_quarters
from mockcheck.params import Params, quantity


class NoteEndParams(Params):
    """When a note is written to the next one."""

    fills_beat: float = quantity(
        0.65,
        unit="share of the time to the next onset",
        low=0.3,
        high=1,
        meaning="a note that sounds so much of a gap up to a beat is written to its end",
        source="arithmetic: two thirds of the gap played at nine tenths are 0.6",
    )
    fills_more: float = quantity(
        0.75,
        unit="share of the time to the next onset",
        low=0.3,
        high=1,
        meaning="the same of a longer gap, where a rest is likelier",
    )
    detached_share: float = quantity(
        0.9, unit="share of the written length", low=0.5, high=1, meaning="what is usually played"
    )
    short_share: float = quantity(
        0.5,
        unit="share of the written length",
        low=0.2,
        high=1,
        meaning="the same of short strokes",
    )
    usual_spread: float = quantity(
        0.12,
        unit="natural logarithm",
        low=0,
        high=0.5,
        meaning="lengths no further than this from the usual share of a value are that value",
    )
    short_spread: float = quantity(
        0.5,
        unit="natural logarithm",
        low=0,
        high=1,
        meaning="the same of short strokes, which say little about the written length",
    )
    least_plucked: float = quantity(
        1 / 2, unit="beats", low=0.1, high=2, meaning="a plucked note is not written shorter alone"
    )


ENDS = NoteEndParams()
_SHORT = ("staccato", "spiccato", "pizzicato", "col legno")
_FARTHEST_BEATS = 64


def note_ends(
    part: PlayedPart, measures: Measures, places: list[Fraction], line: list[int]
) -> list[Fraction]:
    """Where each note ends on the page, quarters from the start of the music; after its place."""
    starts = _starts_by_line(places, line)
    divisions = _divisions(measures, places, line)
    held_until = _held_until(part, places, line)
    played = sounding_quarters(part)
    is_short = part.articulation.is_any(*_SHORT)
    leads_on = _leads_on(part)
    ends = []
    for note, place in enumerate(places):
        later = starts[line[note]]
        row = bisect_right(later, held_until[note])
        after = later[row] if row < len(later) else None
        if after is not None and leads_on[note]:
            ends.append(after)
            continue
        beat = measures.bars[measures.index_at(place)].shape.beat
        if after is not None and _fills(after - place, beat, played[note], bool(is_short[note])):
            ends.append(after)
            continue
        wanted, spread = played[note] / ENDS.detached_share, ENDS.usual_spread
        if is_short[note] and played[note] < float(beat):
            wanted = max(played[note] / ENDS.short_share, ENDS.least_plucked * float(beat))
            spread = ENDS.short_spread
        # A held note lasts at least to the onset it is held over.
        least = max(held_until[note], place)
        choices = _choices(measures, place, divisions, line[note], wanted)
        choices = [end for end in choices if end > least and (after is None or end <= after)]
        ends.append(_likeliest(measures, choices, place, (wanted, spread), after))
    return ends


def _starts_by_line(places: list[Fraction], line: list[int]) -> dict[int, list[Fraction]]:
    starts: dict[int, set[Fraction]] = defaultdict(set)
    for place, own in zip(places, line, strict=True):
        starts[own].add(place)
    return {own: sorted(found) for own, found in starts.items()}


def _divisions(
    measures: Measures, places: list[Fraction], line: list[int]
) -> dict[tuple[int, Fraction], int]:
    """Into how many parts each beat is cut by a line, by line and place of the beat."""
    divisions: dict[tuple[int, Fraction], int] = {}
    for place, own in zip(places, line, strict=True):
        beat, share, _ = _beat_of(measures, place)
        key = (own, beat)
        divisions[key] = lcm(divisions.get(key, 1), share.denominator)
    return divisions


def _beat_of(measures: Measures, place: Fraction) -> tuple[Fraction, Fraction, Fraction]:
    """Where the beat of a place begins, the place in it (0-1), and the beat's length."""
    bar = measures.bars[measures.index_at(place)]
    beat = bar.shape.beat
    share = (place - bar.start) / beat
    return bar.start + (share // 1) * beat, share % 1, beat


def _held_until(part: PlayedPart, places: list[Fraction], line: list[int]) -> list[Fraction]:
    """The last place of its line up to which each note must still sound; its own if none."""
    sonorities = part.sonorities
    first_row = np.full(len(places), -1)
    until = list(places)
    for row in range(len(sonorities)):
        members = sonorities.notes_at(row).tolist()
        struck = [note for note in members if first_row[note] < 0]
        for note in struck:
            first_row[note] = row
        newest: dict[int, Fraction] = {}
        for note in struck:
            newest[line[note]] = max(newest.get(line[note], places[note]), places[note])
        for note in members:
            until[note] = max(until[note], newest.get(line[note], until[note]))
    return until


def _leads_on(part: PlayedPart) -> list[bool]:
    """Notes after which the bow goes on to another under the same slur."""
    leads = [False] * len(part.notes)
    if part.slur is None:
        return leads
    last: dict[int, int] = {}
    for note, slur in enumerate(part.slur.tolist()):
        if slur >= 0:
            last[slur] = max(last.get(slur, note), note)
    onset = part.notes.onset_ticks
    for note, slur in enumerate(part.slur.tolist()):
        leads[note] = slur >= 0 and bool(onset[last[slur]] > onset[note])
    return leads


def _fills(gap: Fraction, beat: Fraction, played: float, is_short: bool) -> bool:
    if gap <= beat:
        return is_short or played >= ENDS.fills_beat * float(gap)
    return played >= ENDS.fills_more * float(gap)


def _choices(
    measures: Measures,
    place: Fraction,
    divisions: dict[tuple[int, Fraction], int],
    line: int,
    wanted: float,
) -> list[Fraction]:
    """Places at which a note may be written to end: parts of its own beat, beats and halves."""
    start, _, beat = _beat_of(measures, place)
    cut = divisions[line, start]
    if cut & (cut - 1) == 0:
        is_compound = measures.bars[measures.index_at(place)].shape.is_compound
        cut = 3 if cut == 1 and is_compound else max(cut, 4)
    choices = [start + k * beat / cut for k in range(1, cut)]
    here = start
    for _ in range(_FARTHEST_BEATS):
        bar = measures.bars[measures.index_at(here)]
        here = min(here + bar.shape.beat, bar.end) if here < bar.end else here + bar.shape.beat
        half = here + bar.shape.beat / (3 if bar.shape.is_compound else 2)
        choices += [here, half] if (line, here) not in divisions else [here]
        if float(here - place) > 2 * wanted:
            break
    return [end for end in choices if end > place]


def _likeliest(
    measures: Measures,
    choices: list[Fraction],
    place: Fraction,
    wanted: tuple[float, float],
    after: Fraction | None,
) -> Fraction:
    """Of the ends about as far as wanted, within a spread, the one on a beat, else the nearest."""
    if not choices:
        return place + Fraction(1, 4) if after is None else after

    def doubt(end: Fraction) -> tuple[float, bool, float]:
        off = abs(log(max(wanted[0], 1e-3) / float(end - place)))
        return max(off - wanted[1], 0.0), _beat_of(measures, end)[1] != 0, off

    return min(choices, key=doubt)
