"""Changes to a file whose effect on the findings is known beforehand.

The music is excerpts of published quartets with one fault of each of ten kinds put into each, so
that there is something to find; and single runs of them, at tempos named by the product's own
headroom.
"""

from __future__ import annotations

import tempfile
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import isclose
from pathlib import Path
from random import Random
from typing import Any

import mockcheck
from mockcheck.model.review import Review
from tests.accuracy.corpus import Work, instrument_of
from tests.accuracy.faults.chords import chord_notes
from tests.accuracy.faults.kinds import make_fault
from tests.accuracy.faults.published_runs import fastest_run
from tests.accuracy.midi_music import Music, Note, Part, write_music
from tests.accuracy.recall import MIDDLE_BARS, SEED, Place, clean_music, draw_places
from tests.accuracy.reviewing import Found, brief_for, found_in
from tests.accuracy.two_processes import spread

TEMPO_FACTORS = (0.5, 0.8, 1.25, 2.0)
HEADROOM_TOLERANCE = 1e-3
"""Files hold tempos as whole microseconds, and headroom is rounded to be printed."""
SHIFT_BARS = 3
TRADE_NAMES = {"Violin 1": "Vl. I", "Violin 2": "2nd Violins", "Viola": "Vle", "Violoncello": "Vc."}
MIXTURE = (
    "below open string",
    "above solo top",
    "run at 25 a second",
    "repeated at 20 a second",
    "pizzicato at 12 a second",
    "four notes out of reach",
    "two notes on one string",
    "slide on every note, range 2",
    "slide on every note, range 12",
    "bend left over",
)
"""Kinds that find room in a bar or a few, without a brief and without a track of their own."""
CHORD_KINDS = ("four notes out of reach", "two notes on one string")
SPEED_CHECKS = ("run-too-fast", "leap-too-fast")
WITHIN_LIMIT, PAST_LIMIT = 0.9, 1.5
"""Times the tempo that the headroom of a run allows."""

Keys = Counter[tuple[object, ...]]


@dataclass(frozen=True)
class Trial:
    """One relation on one piece: findings compared, and those on one side only, in words."""

    relation: str
    place: str
    compared: int
    broken: tuple[str, ...]


def faulty_music(place: Place, index: int) -> Music:
    """An excerpt with one fault of every kind of the mixture that suits, a bar each from bar 2."""
    music = clean_music(place)
    for number, kind in enumerate(MIXTURE):
        bars = (number + 2, number + 2)
        fault = make_fault(kind, music, bars, Random(f"{SEED} mixture {kind} {index}"))
        music = music if fault is None else fault.music
    return music


def _move(music: Music, where: Callable[[int], int]) -> Music:
    """Every tick put through a function; what stands at tick 0 of the maps stays there."""

    def moved(part: Part) -> Part:
        notes = tuple(
            replace(note, onset=where(note.onset), release=where(note.release))
            for note in part.notes
        )
        return replace(part, notes=notes, events=tuple((where(t), m) for t, m in part.events))

    return replace(
        music,
        tempos=tuple((where(tick) if tick else 0, tempo) for tick, tempo in music.tempos),
        meters=tuple((where(row[0]) if row[0] else 0, row[1], row[2]) for row in music.meters),
        parts=tuple(moved(part) for part in music.parts),
    )


def at_tempo(music: Music, factor: float) -> Music:
    """The same music `factor` times as fast."""
    return replace(music, tempos=tuple((tick, tempo / factor) for tick, tempo in music.tempos))


def shifted(music: Music, bars: int) -> Music:
    """The same music after some empty bars."""
    distance = music.bar_start(bars + 1)
    return _move(music, lambda tick: tick + distance)


def finer(music: Music) -> Music:
    """The same music at twice the ticks a quarter."""
    doubled = _move(music, lambda tick: 2 * tick)
    return replace(doubled, ticks_per_quarter=2 * music.ticks_per_quarter)


def renamed(music: Music) -> Music:
    """The same music with other trade names on its tracks."""
    parts = tuple(replace(part, name=TRADE_NAMES[part.name]) for part in music.parts)
    return replace(music, parts=parts)


def _review(music: Music, brief: dict[str, Any], smf_format: int = 1) -> Review:
    with tempfile.TemporaryDirectory() as folder:
        path = write_music(music, Path(folder) / "music.mid", smf_format)
        return mockcheck.review(path, brief)


def _reviewed(music: Music, brief: dict[str, Any], smf_format: int = 1) -> list[Found]:
    return found_in(_review(music, brief, smf_format))


def _keys(found: Sequence[Found], shift: int = 0, families: str = "") -> Keys:
    return Counter(
        (f.check, f.severity, f.part, f.first_tick - shift, f.pitches)
        for f in found
        if not families or f.family in families.split()
    )


def _trial(relation: str, place: Place, left: Keys, right: Keys) -> Trial:
    broken = [f"without the change only: {key}" for key in (left - right).elements()]
    broken += [f"with the change only: {key}" for key in (right - left).elements()]
    return Trial(relation, place.name, (left | right).total(), tuple(broken))


def _matched(left: Sequence[Found], right: Sequence[Found], per: int) -> tuple[Keys, Keys]:
    """Keys of two reviews, the right one's ticks snapped to the left one's within a tick."""
    keys, ticks = _keys(left), {found.first_tick for found in left}
    snapped = []
    for found in right:
        tick = found.first_tick / per
        near = [known for known in ticks if abs(known - tick) <= 1]
        snapped.append(
            replace(found, first_tick=min(near, key=lambda t: abs(t - tick), default=-1))
        )
    return keys, _keys(snapped)


def _named_by_channel(music: Music, players: int | None) -> dict[str, Any]:
    """A brief that says who each channel of a format 0 file is, by row of the track list."""
    rows = [
        {"match": row, "instrument": instrument_of(part), "part": part.name}
        | ({} if players is None else {"players": players})
        for row, part in enumerate(music.parts)
    ]
    return {"tracks": rows}


def _at_tempo(place: Place, music: Music, brief: dict[str, Any], factor: float) -> list[Trial]:
    """Another tempo changes no range and no chord, and headroom in proportion."""
    here, there = _review(music, brief), _review(at_tempo(music, factor), brief)
    keys = [_keys(found_in(review), families="range chords") for review in (here, there)]
    headroom = [
        {track.part: track.headroom for track in review.tracks if track.headroom is not None}
        for review in (here, there)
    ]
    broken = tuple(
        f"{part}: headroom {before:.4f}, at tempo x {factor:g} {headroom[1].get(part, 0):.4f}"
        for part, before in headroom[0].items()
        if not isclose(before, factor * headroom[1].get(part, 0), rel_tol=HEADROOM_TOLERANCE)
    )
    return [
        _trial(f"tempo x {factor:g}: range and chords stay", place, *keys),
        Trial("headroom falls as the tempo rises", place.name, len(headroom[0]), broken),
    ]


def same_findings(job: tuple[Place, int, int | None]) -> list[Trial]:
    """All relations under which findings stay the same, on one piece."""
    place, index, players = job
    music, brief = faulty_music(place, index), brief_for(None, players)
    plain = _reviewed(music, brief)
    trials = [trial for factor in TEMPO_FACTORS for trial in _at_tempo(place, music, brief, factor)]
    distance = music.bar_start(SHIFT_BARS + 1)
    moved = _keys(_reviewed(shifted(music, SHIFT_BARS), brief), shift=distance)
    trials.append(_trial(f"{SHIFT_BARS} empty bars before", place, _keys(plain), moved))
    turned = replace(music, parts=music.parts[::-1])
    trials.append(
        _trial("tracks in reverse order", place, _keys(plain), _keys(_reviewed(turned, brief)))
    )
    other = _keys(_reviewed(renamed(music), brief))
    trials.append(_trial("other trade names on the tracks", place, _keys(plain), other))
    # The place of a bend may be rounded, so half a tick more or less is the same place.
    fine = _reviewed(finer(music), brief)
    trials.append(_trial("twice the ticks a quarter", place, *_matched(plain, fine, per=2)))
    named = _named_by_channel(music, players)
    parts = {"tracks": [{**row, "match": row["part"]} for row in named["tracks"]]}
    one, many = _reviewed(music, named, smf_format=0), _reviewed(music, parts)
    trials.append(_trial("format 0 for format 1", place, _keys(many), _keys(one)))
    return trials


def _desks(part: Part, chord: Sequence[Note], count: int) -> tuple[Part, ...]:
    """A part's music on the first of some tracks, its chord dealt out over all of them."""
    stem = part.name.rstrip(" 12")
    hands = [
        Part(f"{stem} {number + 1}", tuple(chord[number::count]), part.events[:1])
        for number in range(count)
    ]
    rest = tuple(note for note in part.notes if note not in chord)
    first = tuple(sorted(rest + hands[0].notes, key=lambda n: (n.onset, n.pitch)))
    return (replace(hands[0], notes=first), *hands[1:])


def split_chord(job: tuple[Place, int]) -> list[Trial]:
    """A chord dealt out over tracks of other parts, one note each, is no chord any more."""
    place, index = job
    trials = []
    for kind in CHORD_KINDS:
        fault = make_fault(
            kind, clean_music(place), MIDDLE_BARS, Random(f"{SEED} split {kind} {index}")
        )
        if fault is None:
            continue
        part = fault.music.part(fault.part)
        chord = chord_notes(fault)
        alone = replace(fault.music, parts=(part,))
        shared = replace(fault.music, parts=_desks(part, chord, len(chord)))
        at_chord = [
            [
                found
                for found in _reviewed(music, brief_for(None, 1))
                if found.family == "chords" and found.first_tick == chord[0].onset
            ]
            for music in (alone, shared)
        ]
        broken = [] if at_chord[0] else [f"{kind}: not found before the split ({fault.detail})"]
        broken += [f"{kind}: still {found.check}, {found.pitches}" for found in at_chord[1]]
        trials.append(Trial("chord dealt out over parts", place.name, 1, tuple(broken)))
    return trials


def own_limit(job: tuple[Place, int | None]) -> list[Trial]:
    """Headroom and the speed checks agree: a published run alone, within and past its own limit.

    A check of consistency only: whether the limit is right is not asked here.
    """
    place, players = job
    music, brief = clean_music(place), brief_for(None, players)
    start, end = (music.bar_start(bar) for bar in (MIDDLE_BARS[0], MIDDLE_BARS[1] + 1))
    trials = []
    for part in music.parts:
        run = fastest_run(music, part, start, end)
        if run is None:
            continue
        alone = replace(music, parts=(replace(part, notes=run.notes),))
        tracks = _review(alone, brief).tracks
        headroom = next(track.headroom for track in tracks if track.name == part.name)
        if headroom is None:
            message = f"{place.name}, {part.name}: a run of single notes has no headroom"
            raise LookupError(message)
        for factor, is_due in ((WITHIN_LIMIT, False), (PAST_LIMIT, True)):
            found = _reviewed(at_tempo(alone, factor * headroom), brief)
            is_told = any(row.check in SPEED_CHECKS for row in found)
            words = f"{part.name}, {len(run.notes)} notes, headroom {headroom:.3f}"
            broken = () if is_told is is_due else (words,)
            relation = f"a run at {factor:g} of its headroom is {'' if is_due else 'not '}too fast"
            trials.append(Trial(f"{relation} (consistency)", place.name, len(found), broken))
    return trials


def measure_relations(works: Sequence[Work], count: int) -> list[Trial]:
    """Every relation on `count` pieces, as a section and with one player a part."""
    places = list(enumerate(draw_places(works, count, bars=len(MIXTURE) + 3)))
    jobs = [(place, index, players) for index, place in places for players in (None, 1)]
    rows = spread(same_findings, jobs)
    rows += spread(split_chord, [(place, index) for index, place in places])
    rows += spread(own_limit, [(place, players) for _, place in places for players in (None, 1)])
    return [trial for trials in rows for trial in trials]
