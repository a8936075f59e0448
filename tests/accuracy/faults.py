"""One mistake put into clean music, and plain arithmetic that says it is one.

Each maker takes music and a seeded source of chance and gives back a `Fault`, or None where the
place drawn does not suit. Nothing here asks the product. Sources of the numbers: tunings of the
instrument data of the music21 package 10.5.1; tops of Prout (1899) and Widor (1906) as listed in
the project's instrument tables; the rest is named where it stands.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from itertools import pairwise, permutations
from random import Random

import mido

from tests.accuracy.corpus import general_midi_program, instrument_of
from tests.accuracy.midi_music import Music, Note, Part

OPEN_STRINGS = {"violin": (55, 62, 69, 76), "viola": (48, 55, 62, 69), "cello": (36, 43, 50, 57)}
STRING_LENGTH_MM = {"violin": 328, "viola": 375, "cello": 690}
COMFORTABLE_TOP = {"violin": 93, "viola": 81, "cello": 76}
SOLO_TOP = {"violin": 105, "viola": 93, "cello": 88}
HOPELESS_SPAN_MM = {"violin": 150, "viola": 170, "cello": 215}
"""A third more than the widest two-note stretch that reference tables grade as possible at all
(tenths: 115 mm violin, 131 mm viola; 165 mm cello)."""

TENTH_SEMITONES = 16
RUN_NOTES_PER_S = 25.0
REPEATED_NOTES_PER_S = 20.0
PLUCKED_NOTES_PER_S = 12.0
"""Each far above any rate measured: 14.9 for slurred runs, 15.6 for counted repeats, 10 for two
plucking fingers."""
FEWEST_NOTES, MOST_NOTES = 8, 24
FEWEST_SLIDES, SHORTEST_SLIDE_S, LEAST_SLIDE_SEMITONES = 6, 0.08, 2
"""A shift takes about 80 ms without being heard as a slide (from memory); a semitone is vibrato's
neighbour. Only joins that slide for longer and further count."""
BEND_FROM = 0.6
"""Share of a note after which its bend begins."""


@dataclass(frozen=True)
class Fault:
    """Music with one fault; bars from 1, `checks` are those that ought to say so."""

    kind: str
    checks: tuple[str, ...]
    music: Music
    part: str
    first_bar: int
    last_bar: int
    detail: str


Maker = Callable[[Music, Part, Note, Random], Fault | None]


def make_fault(kind: str, music: Music, bars: tuple[int, int], chance: Random) -> Fault | None:
    """Put one fault of a kind at a note that begins within some bars, both included."""
    start, end = music.bar_start(bars[0]), music.bar_start(bars[1] + 1)
    parts = list(music.parts)
    chance.shuffle(parts)
    for part in parts:
        inside = [note for note in part.notes if start <= note.onset < end]
        for note in chance.sample(inside, min(len(inside), 20)):
            fault = MAKERS[kind](music, part, note, chance)
            if fault is not None:
                return fault
    return None


def _fault(
    kind: str, music: Music, part: Part, span: tuple[int, int], detail: str, *checks: str
) -> Fault:
    first, last = music.bar_at(span[0]), music.bar_at(max(span[1] - 1, span[0]))
    return Fault(kind, checks, music.with_part(part), part.name, first, last, detail)


def _swap(part: Part, old: Note, new: Note) -> Part:
    return replace(part, notes=tuple(new if note is old else note for note in part.notes))


def _put(part: Part, start: int, end: int, notes: list[Note]) -> Part:
    """The part with everything between two ticks replaced."""
    kept = [
        replace(note, release=min(note.release, start)) if note.onset < start else note
        for note in part.notes
        if not start <= note.onset < end
    ]
    return replace(part, notes=tuple(sorted([*kept, *notes], key=lambda n: (n.onset, n.pitch))))


def below_open_string(music: Music, part: Part, note: Note, chance: Random) -> Fault:
    """One note ends up 1 to 12 semitones under the lowest open string."""
    missing = chance.randint(1, 12)
    low = replace(note, pitch=min(OPEN_STRINGS[instrument_of(part)]) - missing)
    detail = f"pitch {low.pitch}, {missing} below"
    span = (note.onset, note.onset + 1)
    changed = _swap(part, note, low)
    return _fault("below open string", music, changed, span, detail, "note-below-open-string")


def above_solo_top(music: Music, part: Part, note: Note, chance: Random) -> Fault:
    """One note ends up 1 to 12 semitones above the highest note of soloists."""
    over = chance.randint(1, 12)
    high = replace(note, pitch=SOLO_TOP[instrument_of(part)] + over)
    span = (note.onset, note.onset + 1)
    detail = f"pitch {high.pitch}, {over} above"
    changed = _swap(part, note, high)
    return _fault("above solo top", music, changed, span, detail, "note-above-range")


def _even_notes(
    music: Music, start: int, pitches: list[int], notes_per_s: float, share: float
) -> list[Note]:
    """Notes at an even rate from a tick on; `share` of the gap sounds."""
    begin = music.second_at(start)
    ticks = [music.tick_at(begin + i / notes_per_s) for i in range(len(pitches) + 1)]
    return [
        Note(onset, onset + max(round(share * (after - onset)), 1), pitch)
        for onset, after, pitch in zip(ticks, ticks[1:], pitches, strict=False)
    ]


def _is_at_rate(music: Music, notes: list[Note], notes_per_s: float) -> bool:
    """Oracle: onsets per second, with room for whole ticks."""
    seconds = music.second_at(notes[-1].onset) - music.second_at(notes[0].onset)
    return (len(notes) - 1) / seconds > 0.97 * notes_per_s


def _count(music: Music, start: int, notes_per_s: float, chance: Random) -> int:
    """As many notes as fill a beat or two, from 8 to 24."""
    beats = chance.choice((1, 2))
    end = start + beats * music.ticks_per_quarter
    seconds = music.second_at(end) - music.second_at(start)
    return max(FEWEST_NOTES, min(MOST_NOTES, round(seconds * notes_per_s)))


SHAPES = {"scale": (2, 2, 1, 2, 2, 2, 1), "arpeggio": (4, 3, 5), "zigzag": (5, -3, 4, -2)}


def _run_pitches(instrument: str, shape: str, count: int, chance: Random) -> list[int]:
    """A line that turns round at the ends of the comfortable range."""
    low, high = min(OPEN_STRINGS[instrument]), COMFORTABLE_TOP[instrument]
    pitch, direction = chance.randint(low, high), chance.choice((1, -1))
    pitches = [pitch]
    for step in range(count - 1):
        move = direction * SHAPES[shape][step % len(SHAPES[shape])]
        if not low <= pitch + move <= high:
            direction, move = -direction, -move
        pitch += move
        pitches.append(pitch)
    return pitches


def _even_fault(
    kind: str,
    check: str,
    music: Music,
    part: Part,
    notes: list[Note],
    rate: float,
    detail: str,
) -> Fault | None:
    end = notes[-1].release
    if end > music.end or not _is_at_rate(music, notes, rate):
        return None
    span = (notes[0].onset, end)
    return _fault(kind, music, _put(part, *span, notes), span, detail, check)


def run_25_a_second(music: Music, part: Part, note: Note, chance: Random) -> Fault | None:
    """A beat or two become a run that nobody plays."""
    count = _count(music, note.onset, RUN_NOTES_PER_S, chance)
    shape = chance.choice(tuple(SHAPES))
    share, stroke = chance.choice(((1.1, "slurred"), (1.4, "slurred"), (0.8, "separate")))
    pitches = _run_pitches(instrument_of(part), shape, count, chance)
    notes = _even_notes(music, note.onset, pitches, RUN_NOTES_PER_S, share)
    detail = f"{count} notes, {shape}, {stroke}, sounding share {share}"
    return _even_fault(
        "run at 25 a second", "run-too-fast", music, part, notes, RUN_NOTES_PER_S, detail
    )


def repeated_20_a_second(music: Music, part: Part, note: Note, chance: Random) -> Fault | None:
    """A beat or two become one note repeated faster than any counted stroke."""
    count = _count(music, note.onset, REPEATED_NOTES_PER_S, chance)
    share = chance.choice((0.5, 0.8, 1.0))
    notes = _even_notes(music, note.onset, [note.pitch] * count, REPEATED_NOTES_PER_S, share)
    detail = f"{count} notes, sounding share {share}"
    check = "repeated-notes-too-fast"
    return _even_fault(
        "repeated at 20 a second", check, music, part, notes, REPEATED_NOTES_PER_S, detail
    )


def pizzicato_12_a_second(music: Music, part: Part, note: Note, chance: Random) -> Fault | None:
    """A beat or two are plucked faster than two fingers pluck, by General MIDI program 46."""
    count = _count(music, note.onset, PLUCKED_NOTES_PER_S, chance)
    shape = chance.choice(tuple(SHAPES))
    pitches = _run_pitches(instrument_of(part), shape, count, chance)
    notes = _even_notes(music, note.onset, pitches, PLUCKED_NOTES_PER_S, 0.6)
    own = general_midi_program(part.name)
    events = (
        (notes[0].onset, mido.Message("program_change", program=45)),
        (music.tick_at(music.second_at(notes[-1].release)), program_change(own)),
    )
    plucked = replace(part, events=part.events + events)
    check, kind = "pizzicato-too-fast", "pizzicato at 12 a second"
    detail = f"{count} notes, {shape}"
    return _even_fault(kind, check, music, plucked, notes, PLUCKED_NOTES_PER_S, detail)


def program_change(number: int) -> mido.Message:
    """Select a General MIDI program, counted from 0."""
    return mido.Message("program_change", program=number)


def least_span_mm(instrument: str, pitches: tuple[int, ...]) -> float | None:
    """Oracle: the least distance along the string between the outermost stopped fingers.

    Every way to put the notes on different strings is tried; None when there is none. A stop n
    semitones above the open string lies L (1 - 2^(-n/12)) from the nut (ideal string).
    """
    length = STRING_LENGTH_MM[instrument]
    spans = []
    for strings in permutations(OPEN_STRINGS[instrument], len(pitches)):
        stops = [pitch - string for pitch, string in zip(pitches, strings, strict=True)]
        if min(stops) < 0:
            continue
        places = [length * (1 - 2 ** (-stop / 12)) for stop in stops if stop]
        spans.append(max(places) - min(places) if places else 0.0)
    return min(spans, default=None)


def _stretched_chord(instrument: str, chance: Random) -> tuple[int, ...]:
    while True:
        stops = [chance.randint(1, 19) for _ in range(4)]
        strings = OPEN_STRINGS[instrument]
        pitches = tuple(sorted(open_ + stop for open_, stop in zip(strings, stops, strict=True)))
        gaps = [high - low for low, high in pairwise(pitches)]
        if max(gaps) < TENTH_SEMITONES or min(gaps) == 0:
            continue
        span = least_span_mm(instrument, pitches)
        if span is not None and span > HOPELESS_SPAN_MM[instrument]:
            return pitches


def _chord_fault(
    kind: str, music: Music, part: Part, note: Note, pitches: tuple[int, ...], *checks: str
) -> Fault | None:
    if note.release - note.onset < music.ticks_per_quarter // 4:
        return None
    chord = [Note(note.onset, note.release, pitch) for pitch in pitches]
    span = (note.onset, note.release)
    detail = "pitches " + " ".join(map(str, pitches))
    changed = _put(part, *span, chord)
    return _fault(kind, music, changed, (note.onset, note.onset + 1), detail, *checks)


def stretched_four_notes(music: Music, part: Part, note: Note, chance: Random) -> Fault | None:
    """A note becomes a chord of four with a tenth or more inside, wider than any hand."""
    pitches = _stretched_chord(instrument_of(part), chance)
    checks = ("chord-out-of-reach", "chord-needs-divisi")
    return _chord_fault("four notes out of reach", music, part, note, pitches, *checks)


def two_on_one_string(music: Music, part: Part, note: Note, chance: Random) -> Fault | None:
    """A note becomes two that only the lowest string has."""
    lowest, second = sorted(OPEN_STRINGS[instrument_of(part)])[:2]
    pitches = tuple(sorted(chance.sample(range(lowest, second), 2)))
    check = "double-stop-on-one-string"
    return _chord_fault("two notes on one string", music, part, note, pitches, check)


def chord_notes(fault: Fault) -> list[Note]:
    """The notes of the chord that a fault put in, by the pitches it names."""
    wanted = [int(pitch) for pitch in fault.detail.removeprefix("pitches ").split()]
    notes = fault.music.part(fault.part).notes
    start = fault.music.bar_start(fault.first_bar)
    end = fault.music.bar_start(fault.first_bar + 1)
    for note in notes:
        together = [n for n in notes if n.onset == note.onset]
        if start <= note.onset < end and [n.pitch for n in together] == wanted:
            return together
    message = f"{fault.kind}: the chord {wanted} is not where it was put"
    raise LookupError(message)


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


def _top_line(part: Part, start: int, end: int) -> list[Note]:
    tops: dict[int, Note] = {}
    for note in part.notes:
        if start <= note.onset < end:
            tops[note.onset] = note
    return list(tops.values())


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
    line = _top_line(part, start, end)
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
    return _fault(kind, music, changed, (start, end), detail, "slides-overused")


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
    return _fault("bend left over", music, changed, span, detail, "bend-left-over")


SLIDE_KINDS = ("slide on every note, range 2", "slide on every note, range 12")

MAKERS: dict[str, Maker] = {
    "below open string": below_open_string,
    "above solo top": above_solo_top,
    "run at 25 a second": run_25_a_second,
    "repeated at 20 a second": repeated_20_a_second,
    "pizzicato at 12 a second": pizzicato_12_a_second,
    "four notes out of reach": stretched_four_notes,
    "two notes on one string": two_on_one_string,
    "slide on every note, range 2": slides_range_2,
    "slide on every note, range 12": slides_range_12,
    "bend left over": bend_left_over,
}
