"""Edits a composer makes, each keeping account of which note is which.

Nothing here asks the product: a note of the new music knows the old note it was, or that it is
new.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable
from dataclasses import dataclass, replace
from random import Random

from tests.accuracy.midi_music import Music, Note, Part, excerpt

Origin = tuple[str, int] | None
"""Part and number of the old note; None for a note that came in."""
NEW_NAMES = {
    "Violin 1": "Vl. I",
    "Violin 2": "Zweite Violine",
    "Viola": "Bratsche",
    "Violoncello": "Vc. solo",
}
AUGMENTATIONS = (0.5, 2.0)


@dataclass(frozen=True)
class Edited:
    """Music after some edits, and what its notes were before them.

    `origins` has for every part one origin a note, in the order of its notes.
    """

    music: Music
    origins: dict[str, tuple[Origin, ...]]
    words: str = ""


Edit = Callable[[Edited, Random], Edited]


def untouched(music: Music) -> Edited:
    """Every note is itself."""
    return Edited(
        music,
        {
            part.name: tuple((part.name, row) for row in range(len(part.notes)))
            for part in music.parts
        },
    )


def _bar_count(music: Music) -> int:
    return music.bar_at(max(music.end - 1, 0))


def _spread_out(music: Music, tick: int, ticks: int, end: int) -> Music:
    """Everything from a tick on put `ticks` later, or what lies between `tick` and `end` cut."""

    def moved(at: int) -> int | None:
        if at < tick or at == 0:
            return at
        return None if tick <= at < end else at + ticks

    tempos = {0: music.tempos[0][1]}
    for at, tempo in music.tempos:
        where = moved(at)
        # What is set inside a cut still holds after it.
        tempos[tick if where is None else where] = tempo
    meters = {0: music.meters[0][1:]}
    for at, *metre in music.meters:
        where = moved(at)
        meters[tick if where is None else where] = (metre[0], metre[1])
    return replace(
        music,
        tempos=tuple(sorted(tempos.items())),
        meters=tuple((at, *metre) for at, metre in sorted(meters.items())),
    )


def _rebuilt(
    edited: Edited, music: Music, change: Callable[[Part, Note], Note | None], words: str
) -> Edited:
    """Every note put through a function; None cuts it."""
    parts, origins = [], {}
    for part in edited.music.parts:
        rows = [
            (new, origin)
            for note, origin in zip(part.notes, edited.origins[part.name], strict=True)
            if (new := change(part, note)) is not None
        ]
        rows.sort(key=lambda row: (row[0].onset, row[0].pitch))
        parts.append(replace(part, notes=tuple(note for note, _ in rows)))
        origins[part.name] = tuple(origin for _, origin in rows)
    return Edited(replace(music, parts=tuple(parts)), origins, f"{edited.words}; {words}")


def _with_events_moved(edited: Edited, where: Callable[[int], int | None]) -> Edited:
    parts = [
        replace(
            part,
            events=tuple((at, m) for tick, m in part.events if (at := where(tick)) is not None),
        )
        for part in edited.music.parts
    ]
    return replace(edited, music=replace(edited.music, parts=tuple(parts)))


def insert_bars(edited: Edited, chance: Random) -> Edited:
    """Some bars come in at a bar line: empty, or a copy of other bars."""
    music = edited.music
    bar, count = chance.randint(1, _bar_count(music)), chance.randint(1, 6)
    tick = music.bar_start(bar)
    source = chance.randint(1, max(_bar_count(music) - count, 1))
    copy = chance.choice((None, excerpt(music, source, source + count - 1)))
    bar_ticks = music.bar_start(bar + 1) - tick
    ticks = count * bar_ticks

    def later(_: Part, note: Note) -> Note:
        if note.onset >= tick:
            return replace(note, onset=note.onset + ticks, release=note.release + ticks)
        return replace(note, release=min(note.release, max(tick, note.onset + 1)))

    words = f"{count} {'empty' if copy is None else 'copied'} bars before bar {bar}"
    opened = _rebuilt(edited, _spread_out(music, tick, ticks, tick), later, words)
    opened = _with_events_moved(opened, lambda at: at + ticks if at >= tick and at else at)
    return opened if copy is None else _filled(opened, copy, tick, ticks)


def _filled(opened: Edited, copy: Music, tick: int, ticks: int) -> Edited:
    parts, origins = [], {}
    for part in opened.music.parts:
        rows = list(zip(part.notes, opened.origins[part.name], strict=True))
        rows += [
            (replace(n, onset=tick + n.onset, release=min(tick + n.release, tick + ticks)), None)
            for n in copy.part(part.name).notes
            if n.onset < ticks
        ]
        rows.sort(key=lambda row: (row[0].onset, row[0].pitch))
        parts.append(replace(part, notes=tuple(note for note, _ in rows)))
        origins[part.name] = tuple(origin for _, origin in rows)
    return replace(opened, music=replace(opened.music, parts=tuple(parts)), origins=origins)


def cut_bars(edited: Edited, chance: Random) -> Edited:
    """Some bars go."""
    music = edited.music
    count = chance.randint(1, 6)
    bar = chance.randint(1, max(_bar_count(music) - count, 1))
    tick, end = music.bar_start(bar), music.bar_start(bar + count)
    ticks = end - tick

    def kept(_: Part, note: Note) -> Note | None:
        if tick <= note.onset < end:
            return None
        if note.onset >= end:
            return replace(note, onset=note.onset - ticks, release=note.release - ticks)
        return replace(note, release=min(note.release, max(tick, note.onset + 1)))

    words = f"bars {bar}-{bar + count - 1} cut"
    shorter = _rebuilt(edited, _spread_out(music, tick, -ticks, end), kept, words)

    def where(at: int) -> int | None:
        if at == 0 or at < tick:
            return at
        return max(at, end) - ticks

    return _with_events_moved(shorter, where)


def transpose(edited: Edited, chance: Random) -> Edited:
    """All of the music, one part, or some bars of one or all parts go up or down."""
    music = edited.music
    by = chance.choice((-5, -3, -2, -1, 1, 2, 3, 5))
    names = chance.choice(([part.name for part in music.parts], [chance.choice(music.parts).name]))
    first, last = chance.choice(((1, _bar_count(music)), _some_bars(music, chance)))
    start, end = music.bar_start(first), music.bar_start(last + 1)

    def shifted(part: Part, note: Note) -> Note:
        inside = part.name in names and start <= note.onset < end
        return replace(note, pitch=note.pitch + by) if inside else note

    return _rebuilt(edited, music, shifted, f"{names} bars {first}-{last} transposed by {by}")


def _some_bars(music: Music, chance: Random) -> tuple[int, int]:
    first = chance.randint(1, _bar_count(music))
    return first, min(first + chance.randint(1, 8), _bar_count(music))


def retime(edited: Edited, chance: Random) -> Edited:
    """Another tempo for all of it or from a bar on, or the same music in other note values."""
    music, kind = edited.music, chance.choice(("all", "all", "from a bar", "values"))
    if kind == "values":
        return _in_other_values(edited, chance.choice(AUGMENTATIONS))
    factor = chance.choice((0.8, 0.9, 0.95, 0.98, 1.03, 1.05, 1.1, 1.2))
    bar = 1 if kind == "all" else chance.randint(1, _bar_count(music))
    tick = music.bar_start(bar)
    at_tick = [tempo for at, tempo in music.tempos if at <= tick][-1]
    tempos = dict(music.tempos) | {tick: at_tick}
    scaled = {at: tempo / factor if at >= tick else tempo for at, tempo in tempos.items()}
    words = f"tempo x {factor} from bar {bar}"
    return replace(
        edited,
        music=replace(music, tempos=tuple(sorted(scaled.items()))),
        words=f"{edited.words}; {words}",
    )


def _in_other_values(edited: Edited, factor: float) -> Edited:
    """Crotchets written as quavers or minims, sounding the same."""
    music = edited.music

    def stretched(_: Part, note: Note) -> Note:
        onset = round(note.onset * factor)
        return replace(note, onset=onset, release=max(round(note.release * factor), onset + 1))

    slower = replace(
        music,
        tempos=tuple((round(at * factor), tempo / factor) for at, tempo in music.tempos),
        meters=((0, *music.meters[0][1:]),),
    )
    changed = _rebuilt(edited, slower, stretched, f"note values x {factor}")
    return _with_events_moved(changed, lambda at: round(at * factor))


def push_a_part(edited: Edited, chance: Random) -> Edited:
    """One part comes later than the others, by half a beat to two bars."""
    music, quarter = edited.music, edited.music.ticks_per_quarter
    name = chance.choice(music.parts).name
    ticks = chance.choice((quarter // 2, quarter, 2 * quarter, 8 * quarter))

    def later(part: Part, note: Note) -> Note:
        if part.name != name:
            return note
        return replace(note, onset=note.onset + ticks, release=note.release + ticks)

    pushed = _rebuilt(edited, music, later, f"{name} {ticks} ticks later")
    parts = [
        replace(part, events=tuple((at + ticks if at else 0, m) for at, m in part.events))
        if part.name == name
        else part
        for part in pushed.music.parts
    ]
    return replace(pushed, music=replace(music, parts=tuple(parts)))


def rename_parts(edited: Edited, chance: Random) -> Edited:
    """One track, or all of them, get other names."""
    names = [part.name for part in edited.music.parts if part.name in NEW_NAMES]
    chosen = chance.choice((names, names[:1], names[-1:]))
    new = {name: NEW_NAMES[name] for name in chosen}
    return Edited(
        replace(
            edited.music,
            parts=tuple(
                replace(part, name=new.get(part.name, part.name)) for part in edited.music.parts
            ),
        ),
        {new.get(name, name): origins for name, origins in edited.origins.items()},
        f"{edited.words}; renamed {chosen}",
    )


def replaced_by(old: Music, new: Music, words: str) -> Edited:
    """The edit that led from one music to another on the same ticks: equal notes are the same."""
    origins: dict[str, tuple[Origin, ...]] = {}
    for part in new.parts:
        rows: defaultdict[tuple[int, int], list[int]] = defaultdict(list)
        for row, note in enumerate(old.part(part.name).notes):
            rows[note.onset, note.pitch].append(row)
        seen: Counter[tuple[int, int]] = Counter()
        found: list[Origin] = []
        for note in part.notes:
            key = (note.onset, note.pitch)
            at = rows.get(key, [])
            found.append((part.name, at[seen[key]]) if seen[key] < len(at) else None)
            seen[key] += 1
        origins[part.name] = tuple(found)
    return Edited(new, origins, f"; {words}")


EDITS: dict[str, Edit] = {
    "bars inserted": insert_bars,
    "bars cut": cut_bars,
    "transposed": transpose,
    "retimed": retime,
    "renamed": rename_parts,
    "one part pushed": push_a_part,
}
