"""Every kind of fault, and putting one somewhere."""

from __future__ import annotations

from random import Random

from tests.accuracy.faults import bow, chords, mute, published_runs, ranges, slides, speed
from tests.accuracy.faults.fault import Fault, Maker
from tests.accuracy.midi_music import Music

MAKERS: dict[str, Maker] = {
    "below open string": ranges.below_open_string,
    "above solo top": ranges.above_solo_top,
    "run at 25 a second": speed.run_25_a_second,
    "published run past the limit": published_runs.published_run,
    "repeated at 20 a second": speed.repeated_20_a_second,
    "pizzicato at 12 a second": speed.pizzicato_12_a_second,
    "four notes out of reach": chords.stretched_four_notes,
    "two notes on one string": chords.two_on_one_string,
    "impossible chord of the tables": chords.chord_of_the_tables,
    "slide on every note, range 2": slides.slides_range_2,
    "slide on every note, range 12": slides.slides_range_12,
    "bend left over": slides.bend_left_over,
    "slur of 25 s at forte": bow.slur_25_s,
    "note held 25 s at forte": bow.held_25_s,
    "mute in no time, by track": mute.mute_by_track,
    "mute in no time, by switch": mute.mute_by_switch,
}


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
