"""A class whose mistakes are known: plain quartets made by rule, with faults put into them.

How bad a student's work is was laid down here before any points were looked at, and asks nothing
of the product: every fault weighs by what happens at the session, by the words of the design
(nobody can: 4; a good section misses it: 2; heard: 1), and the sum is taken per bar.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi, sin
from pathlib import Path
from random import Random

from tests.accuracy.faults.kinds import make_fault
from tests.accuracy.midi_music import Music, Note, Part, write_music
from tests.accuracy.recall import with_programs

WEIGHTS = {
    "below open string": 4,
    "above solo top": 4,
    "run at 25 a second": 4,
    "repeated at 20 a second": 2,
    "pizzicato at 12 a second": 2,
    "four notes out of reach": 2,
    "two notes on one string": 2,
    "impossible chord of the tables": 2,
    "slide on every note, range 2": 1,
    "bend left over": 1,
}
"""A section shares a chord that one hand cannot hold, makes a tremolo of notes repeated too fast,
and plucks what it can: that costs takes and stops nobody. The last two were first put at 4 and
corrected on classes for tuning, whose numbers are not reported."""
LENGTHS_BARS = (16, 20, 24, 28, 32)
BARS_A_FAULT = 3
"""Each fault has bars of its own."""
TICKS_PER_QUARTER = 480
QUARTERS_A_BAR = 4
RANGES = {"Violin 1": (64, 79), "Violin 2": (59, 74), "Viola": (52, 67), "Violoncello": (40, 55)}
"""Lowest and highest pitch: the first hand position of each instrument, as handbooks begin."""
RHYTHMS = ((1, 1, 1, 1), (2, 1, 1), (1, 0.5, 0.5, 1, 1), (1.5, 0.5, 2), (1, 1, 2), (2, 2))
MAJOR = (0, 2, 4, 5, 7, 9, 11)
BROAD, SHORT = 0.95, 0.35
"""Shares of its value that a note sounds."""


@dataclass(frozen=True)
class Pupil:
    """One student's music, and the faults that were put into it."""

    name: str
    music: Music
    faults: tuple[str, ...]
    bars: int

    @property
    def severity(self) -> float:
        """How bad it is, per bar."""
        return sum(WEIGHTS[kind] for kind in self.faults) / self.bars


def plain_part(name: str, bars: int, key: int, chance: Random) -> Part:
    """Steps and small leaps of one key inside a hand position, swelling and fading.

    Three bars broad and one bar short, so that without a fault nothing is missing.
    """
    low, high = RANGES[name]
    scale = [pitch for pitch in range(low, high + 1) if (pitch - key) % 12 in MAJOR]
    place = chance.randrange(len(scale))
    notes, tick = [], 0
    for bar in range(bars):
        held = SHORT if bar % 4 == 3 else BROAD
        for quarters in chance.choice(RHYTHMS):
            step = chance.choice((-2, -1, -1, 1, 1, 2, -3, 3))
            place = place + step if 0 <= place + step < len(scale) else place - step
            length = round(quarters * TICKS_PER_QUARTER)
            swell = sin(pi * tick / (4 * QUARTERS_A_BAR * TICKS_PER_QUARTER))
            loud = round(72 + 28 * swell) + chance.randint(-3, 3)
            notes.append(Note(tick, tick + round(held * length), scale[place], loud))
            tick += length
    return Part(name, tuple(notes))


def plain_quartet(chance: Random, bars: int) -> Music:
    """Four such parts in one key at a walking tempo."""
    key = chance.choice((0, 2, 5, 7, 9))
    return with_programs(
        Music(
            TICKS_PER_QUARTER,
            tempos=((0, 60e6 / chance.randint(76, 104)),),
            meters=((0, QUARTERS_A_BAR, 4),),
            parts=tuple(plain_part(name, bars, key, chance) for name in RANGES),
        )
    )


def pupil(seed: str, number: int) -> Pupil:
    """One student of a class, the same in every run."""
    chance = Random(f"{seed} {number}")
    bars = chance.choice(LENGTHS_BARS)
    music = plain_quartet(chance, bars)
    slots = list(range(1, bars - BARS_A_FAULT + 1, BARS_A_FAULT))
    chance.shuffle(slots)
    faults: list[str] = []
    for first in slots[: chance.randint(0, len(slots))]:
        kind = chance.choice(list(WEIGHTS))
        fault = make_fault(kind, music, (first, first + BARS_A_FAULT - 1), chance)
        if fault is not None:
            music = fault.music
            faults.append(kind)
    return Pupil(f"Student {number:02}", music, tuple(faults), bars)


def pupils(seed: str, count: int) -> list[Pupil]:
    """A class."""
    return [pupil(seed, number) for number in range(1, count + 1)]


def write_class(folder: Path, rows: list[Pupil]) -> None:
    """Each student's file, by name."""
    for row in rows:
        write_music(row.music, folder / f"{row.name} - quartet.mid")
