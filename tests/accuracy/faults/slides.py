"""Bends: too many slides, and a bend that is never taken back."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise
from random import Random

import mido

from tests.accuracy.faults.fault import Fault, fault_at, top_line
from tests.accuracy.midi_music import Music, Note, Part

FEWEST_SLIDES, SHORTEST_SLIDE_S, LEAST_SLIDE_SEMITONES = 6, 0.08, 2
"""A shift takes about 80 ms without being heard as a slide (from memory); a semitone is vibrato's
neighbour. Only joins that slide for longer and further count."""
BEND_FROM = 0.6
"""Share of a note after which its bend begins."""


def bend_range_events(semitones: int) -> Iterator[mido.Message]:
    """Registered parameter 0, bend range (MIDI 1.0 Detailed Specification 4.2)."""
    for control, value in ((101, 0), (100, 0), (6, semitones), (38, 0)):
        yield mido.Message("control_change", control=control, value=value)


def _bend_events(note: Note, semitones: float, bend_range: int) -> list[tuple[int, mido.Message]]:
    """A bend over the last two fifths of a note, up to the range of the wheel."""
    travel = max(-bend_range, min(bend_range, semitones))
    length = note.release - note.onset
    rows = []
    for step in range(13):
        tick = note.onset + round(length * (BEND_FROM + (1 - BEND_FROM) * step / 13))
        value = round(8191 * travel / bend_range * step / 12)
        rows.append((tick, mido.Message("pitchwheel", pitch=value)))
    return rows


def _is_heard(music: Music, left: Note, right: Note) -> bool:
    """Oracle: the bend of a join is long enough, and goes far enough, to be heard as a slide."""
    end = min(left.release, right.onset)
    begin = left.onset + BEND_FROM * (end - left.onset)
    seconds = music.second_at(end) - music.second_at(round(begin))
    return seconds >= SHORTEST_SLIDE_S and abs(right.pitch - left.pitch) >= LEAST_SLIDE_SEMITONES


def _slides(music: Music, part: Part, note: Note, chance: Random, bend_range: int) -> Fault | None:
    first = music.bar_at(note.onset)
    last = first + chance.randint(1, 3)
    start, end = music.bar_start(first), music.bar_start(last + 1)
    line = top_line(part, start, end)
    rest = music.ticks_per_quarter // 4
    joins = [
        (left, right)
        for left, right in pairwise(line)
        if left.pitch != right.pitch and right.onset - left.release <= rest
    ]
    heard = [join for join in joins if _is_heard(music, *join)]
    if end > music.end or len(heard) < FEWEST_SLIDES:
        return None
    events = [(0, event) for event in bend_range_events(bend_range)]
    for left, right in joins:
        whole = replace(left, release=min(left.release, right.onset))
        events += _bend_events(whole, right.pitch - left.pitch, bend_range)
        events.append((right.onset, mido.Message("pitchwheel", pitch=0)))
    changed = replace(part, events=(*part.events, *events))
    detail = f"{len(joins)} slides in {last - first + 1} bars, {len(heard)} long and wide enough"
    kind = f"slide on every note, range {bend_range}"
    return fault_at(kind, music, changed, (start, end), detail, "slides-overused")


def slides_range_2(music: Music, part: Part, note: Note, chance: Random) -> Fault | None:
    """Every join of two to four bars slides, as far as a range of two semitones goes."""
    return _slides(music, part, note, chance, 2)


def slides_range_12(music: Music, part: Part, note: Note, chance: Random) -> Fault | None:
    """Every join of two to four bars slides all the way, range twelve semitones."""
    return _slides(music, part, note, chance, 12)


def bend_left_over(music: Music, part: Part, note: Note, chance: Random) -> Fault | None:
    """A bend at the end of a note is never taken back; all that follows is out of tune."""
    after = [later for later in part.notes if later.onset > note.onset]
    if len(after) < 4:
        return None
    bend_range = chance.choice((2, 12))
    travel = chance.choice((1, -1)) * chance.choice((1, 2) if bend_range == 2 else (3, 7, 12))
    whole = replace(note, release=min(note.release, after[0].onset))
    events = [(0, event) for event in bend_range_events(bend_range)]
    events += _bend_events(whole, travel, bend_range)
    changed = replace(part, events=(*part.events, *events))
    detail = f"{travel:+d} semitones, range {bend_range}, {len(after)} notes follow"
    span = (note.onset, after[0].onset + 1)
    return fault_at("bend left over", music, changed, span, detail, "bend-left-over")
