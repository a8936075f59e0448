"""Runs, repeated notes and plucked notes, made up, faster than anything measured."""

from __future__ import annotations

from dataclasses import replace
from random import Random

import mido

from tests.accuracy.corpus import general_midi_program, instrument_of
from tests.accuracy.faults.fault import (
    COMFORTABLE_TOP,
    OPEN_STRINGS,
    Fault,
    fault_at,
    program_change,
    put_notes,
)
from tests.accuracy.midi_music import Music, Note, Part

RUN_NOTES_PER_S = 25.0
REPEATED_NOTES_PER_S = 20.0
PLUCKED_NOTES_PER_S = 12.0
"""Each far above any rate measured: 14.9 for slurred runs, 15.6 for counted repeats, 10 for two
plucking fingers."""
FEWEST_NOTES, MOST_NOTES = 8, 24


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


def is_at_rate(music: Music, notes: list[Note], notes_per_s: float) -> bool:
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
    if end > music.end or not is_at_rate(music, notes, rate):
        return None
    span = (notes[0].onset, end)
    return fault_at(kind, music, put_notes(part, *span, notes), span, detail, check)


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
