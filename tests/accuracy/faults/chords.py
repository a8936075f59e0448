"""Chords that one hand cannot take: made up, or rows of the reference tables."""

from __future__ import annotations

import csv
from functools import cache
from itertools import pairwise, permutations
from random import Random

from tests.accuracy.corpus import ROOT, instrument_of
from tests.accuracy.faults.fault import OPEN_STRINGS, Fault, fault_at, put_notes
from tests.accuracy.midi_music import Music, Note, Part

STRING_LENGTH_MM = {"violin": 328, "viola": 375, "cello": 690}
HOPELESS_SPAN_MM = {"violin": 150, "viola": 170, "cello": 215}
"""A third more than the widest two-note stretch that reference tables grade as possible at all
(tenths: 115 mm violin, 131 mm viola; 165 mm cello)."""

TENTH_SEMITONES = 16
TABLES = ("double_stops.csv", "triple_quad_stops.csv")
ONE_HAND = ("chord-needs-divisi", "chord-out-of-reach", "double-stop-on-one-string")


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
    changed = put_notes(part, *span, chord)
    return fault_at(kind, music, changed, (note.onset, note.onset + 1), detail, *checks)


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


@cache
def impossible_rows(instrument: str) -> tuple[tuple[int, ...], ...]:
    """Chords of an instrument that the reference tables grade as impossible."""
    rows = []
    for table in TABLES:
        with (ROOT / "fixtures" / "reference" / table).open(encoding="utf-8", newline="") as lines:
            for row in csv.DictReader(lines):
                pitches = row.get("pitches") or f"{row['lower_midi']} {row['upper_midi']}"
                if (row["instrument"], row["verdict"]) == (instrument, "impossible"):
                    rows.append(tuple(int(pitch) for pitch in pitches.split()))
    return tuple(rows)


def chord_of_the_tables(music: Music, part: Part, note: Note, chance: Random) -> Fault | None:
    """A note becomes a chord that the reference tables call impossible, at its printed pitches."""
    instrument = instrument_of(part)
    pitches = chance.choice(impossible_rows(instrument))
    is_below = min(pitches) < min(OPEN_STRINGS[instrument])
    checks = ("note-below-open-string", *ONE_HAND) if is_below else ONE_HAND
    return _chord_fault("impossible chord of the tables", music, part, note, pitches, *checks)


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
