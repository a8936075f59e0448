"""How many injected faults are found, at the right bar and part, and what else they set off.

Excerpts of eight bars are drawn from clean published quartets, longer ones where a fault lasts
long; each gets one fault in its middle, and the review of the faulty excerpt is compared with that
of the clean one.
"""

from __future__ import annotations

import tempfile
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from pathlib import Path
from random import Random

from tests.accuracy.corpus import Work, general_midi_program, load_music
from tests.accuracy.faults.fault import Fault, program_change
from tests.accuracy.faults.kinds import MAKERS, make_fault
from tests.accuracy.midi_music import Music, excerpt, write_music
from tests.accuracy.reviewing import Found, only_in, review_file
from tests.accuracy.two_processes import spread

SETTINGS = {"section": None, "one player": 1}
"""Players on every part; None leaves the product's own guess, a section at sight."""

EXCERPT_BARS, LONG_EXCERPT_BARS = 8, 32
MIDDLE_BARS = (3, 5)
FEWEST_NOTES = 10
"""Notes of every part in an excerpt."""
SEED = "mockcheck recall 1"


@dataclass(frozen=True)
class PlaceGroup:
    """Kinds of fault that share their places, and how long an excerpt they need."""

    kinds: tuple[str, ...]
    bars: int = EXCERPT_BARS


PLACE_GROUPS = (
    PlaceGroup(
        (
            "below open string",
            "above solo top",
            "run at 25 a second",
            "repeated at 20 a second",
            "pizzicato at 12 a second",
            "four notes out of reach",
            "two notes on one string",
            "bend left over",
        )
    ),
    PlaceGroup(("slide on every note, range 2", "slide on every note, range 12")),
    PlaceGroup(("published run past the limit",)),
    PlaceGroup(("impossible chord of the tables",)),
    PlaceGroup(("slur of 25 s at forte", "note held 25 s at forte"), LONG_EXCERPT_BARS),
    PlaceGroup(("mute in no time, by track", "mute in no time, by switch")),
)
"""Kinds that want music of their own sort, melodies or runs, have places of their own."""


@dataclass(frozen=True)
class Place:
    """Where a fault goes: an excerpt of a work, or the whole of it."""

    work: Work
    first_bar: int
    bars: int = EXCERPT_BARS
    is_whole: bool = False

    @property
    def name(self) -> str:
        """The place in words."""
        if self.is_whole:
            return self.work.name
        return f"{self.work.name}, bars {self.first_bar}-{self.first_bar + self.bars - 1}"


@dataclass(frozen=True)
class Verdict:
    """What became of one fault under one setting.

    `beside` are other new findings at the same bars and part, `elsewhere` new ones anywhere else,
    `lost` findings of the clean music that are gone elsewhere.
    """

    kind: str
    setting: str
    place: str
    part: str
    bars: tuple[int, int]
    detail: str
    severity: str | None
    misplaced: tuple[str, ...]
    beside: tuple[str, ...]
    elsewhere: tuple[str, ...]
    lost: tuple[str, ...]

    @property
    def is_found(self) -> bool:
        """A new finding of a fitting check lies at the fault."""
        return self.severity is not None


def with_programs(music: Music) -> Music:
    """Every part begins with the General MIDI program of its instrument."""
    parts = tuple(
        replace(part, events=((0, program_change(general_midi_program(part.name))), *part.events))
        for part in music.parts
    )
    return replace(music, parts=parts)


@cache
def _whole(work: Work) -> Music:
    return with_programs(load_music(work))


@lru_cache(maxsize=8)
def clean_music(place: Place) -> Music:
    """The music of a place without a fault."""
    music = _whole(place.work)
    if place.is_whole:
        return music
    return with_programs(excerpt(music, place.first_bar, place.first_bar + place.bars - 1))


def draw_places(
    works: Sequence[Work], count: int, kinds: Sequence[str] = (), bars: int = EXCERPT_BARS
) -> list[Place]:
    """Excerpts in which every part plays and every kind of fault finds its place.

    Works are drawn in proportion to their notes.
    """
    chance = Random(f"{SEED} places {' '.join(kinds)}")
    places: list[Place] = []
    while len(places) < count:
        work = chance.choices(works, [work.notes for work in works])[0]
        music = _whole(work)
        last = music.bar_at(music.end - 1)
        place = Place(work, chance.randint(1, last - bars), bars)
        start, end = music.bar_start(place.first_bar), music.bar_start(place.first_bar + bars)
        if not all(
            sum(start <= n.onset < end for n in part.notes) >= FEWEST_NOTES for part in music.parts
        ):
            continue
        if all(_fault_at(kind, place, len(places)) is not None for kind in kinds):
            places.append(place)
    return places


def _fault_at(kind: str, place: Place, index: int) -> Fault | None:
    """The fault of one place, the same in every run."""
    music = clean_music(place)
    bars = MIDDLE_BARS
    if place.is_whole:
        last = music.bar_at(music.end - 1)
        bars = (last // 4, last // 2)
    return make_fault(kind, music, bars, Random(f"{SEED} {kind} {index}"))


def _continues(found: Found, others: Sequence[Found]) -> bool:
    """Whether a finding is another one's passage made longer, shorter or worse."""
    return any(
        (found.check, found.track) == (other.check, other.track)
        and found.first_tick <= other.last_tick
        and other.first_tick <= found.last_tick
        for other in others
    )


def _is_at(found: Found, fault: Fault, gone: Sequence[Found]) -> bool:
    """Right part, over the faulty bars, and begun there or in the bar before.

    A passage that was found already and now reaches over the fault may begin where it did.
    """
    return (
        found.track == fault.part
        and found.first_bar <= fault.last_bar
        and found.last_bar >= fault.first_bar
        and (found.first_bar >= fault.first_bar - 1 or _continues(found, gone))
    )


def _words(found: Found) -> str:
    return f"{found.check} ({found.severity})"


def judge(
    place: str, setting: str, fault: Fault, clean: list[Found], faulty: list[Found]
) -> Verdict:
    """Compare the reviews with and without the fault; a second track counts as the first.

    Realism speaks of a file or a part as a whole: such a remark has no place, and comes and goes
    with anything that changes. It is left out.
    """
    clean = [found for found in clean if found.family != "realism"]
    faulty = [
        replace(found, track=fault.part) if found.track == fault.second_track else found
        for found in faulty
        if found.family != "realism"
    ]
    new, gone = only_in(faulty, clean), only_in(clean, faulty)
    near = [found for found in new if _is_at(found, fault, gone)]
    far = [found for found in new if found not in near and not _continues(found, gone)]
    fitting = [found for found in near if found.check in fault.checks]
    # A finding that the fault has swallowed, cut short or lengthened is not lost.
    lost = [
        found
        for found in gone
        if not _continues(found, new)
        and (
            found.track != fault.part
            or found.last_bar < fault.first_bar - 1
            or found.first_bar > fault.last_bar + 1
        )
    ]
    return Verdict(
        kind=fault.kind,
        setting=setting,
        place=place,
        part=fault.part,
        bars=(fault.first_bar, fault.last_bar),
        detail=fault.detail,
        severity=fitting[0].severity if fitting else None,
        misplaced=tuple(
            f"{_words(found)} {found.track} bar {found.first_bar}"
            for found in far
            if found.check in fault.checks
        ),
        beside=tuple(_words(found) for found in near if found.check not in fault.checks),
        elsewhere=tuple(f"{_words(found)} {found.track} bar {found.first_bar}" for found in far),
        lost=tuple(_words(found) for found in lost),
    )


def _verdicts(job: tuple[Place, int, tuple[str, ...], tuple[str, ...]]) -> list[Verdict]:
    """Every kind of fault at one place, under some settings."""
    place, index, kinds, settings = job
    verdicts = []
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "music.mid"
        write_music(clean_music(place), path)
        clean = {name: review_file(path, players=SETTINGS[name]) for name in settings}
        for kind in kinds:
            fault = _fault_at(kind, place, index)
            if fault is None:
                continue
            write_music(fault.music, path)
            for name in settings:
                faulty = review_file(path, players=SETTINGS[name], tracks=fault.brief)
                verdicts.append(judge(place.name, name, fault, clean[name], faulty))
    return verdicts


def measure_recall(
    works: Sequence[Work],
    count: int,
    kinds: Sequence[str] = tuple(MAKERS),
    settings: Sequence[str] = tuple(SETTINGS),
) -> list[Verdict]:
    """`count` places for each kind of fault, under each setting; see `PLACE_GROUPS`."""
    modes = tuple(settings)
    jobs = [
        (place, index, wanted, modes)
        for group in PLACE_GROUPS
        if (wanted := tuple(kind for kind in group.kinds if kind in kinds))
        for index, place in enumerate(draw_places(works, count, wanted, group.bars))
    ]
    verdicts = [row for rows in spread(_verdicts, jobs, 4) for row in rows]
    return sorted(
        verdicts, key=lambda row: (list(MAKERS).index(row.kind), row.setting != "section")
    )


def measure_whole_files(works: Sequence[Work], count: int) -> list[Verdict]:
    """The same faults inside whole quartets, as a section: an excerpt may flatter the product."""
    places = [
        (Place(works[index % len(works)], 1, is_whole=True), index, tuple(MAKERS), ("section",))
        for index in range(count)
    ]
    return [row for rows in spread(_verdicts, places) for row in rows]
