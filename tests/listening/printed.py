"""Published quartets with what was printed, cut down to the passages that hold most kinds.

Each work becomes an anthology of up to six passages of about a quarter of a minute: those with
the most trills, tremolo, pizzicato, dots and slurs, and one from the middle. Whole works would be
mostly unmarked notes.
"""

from __future__ import annotations

import csv
import gzip
import hashlib
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from tests.accuracy.corpus import Work, open_quartets
from tests.accuracy.midi_music import Music, read_music
from tests.listening.clock import Clock

LEARN, REPORT = "learn", "report"
_PASSAGE_S = 15.0
_FEWEST_MARKS = 6
_SALT = "d"
"""Chosen once so that both halves hold about as many works; no figure was looked at."""


@dataclass(frozen=True)
class PrintedNote:
    """One note of the print; ticks from the start of the music."""

    onset: int
    length: int
    pitch: int
    dotted: bool = False
    slurred: bool = False
    pizzicato: bool = False
    tremolo: bool = False
    trill: bool = False


@dataclass(frozen=True)
class PrintedPart:
    """One player's part, notes in order of (onset, pitch), no pitch twice at one onset."""

    name: str
    instrument: str
    notes: tuple[PrintedNote, ...]


@dataclass(frozen=True)
class Sheet:
    """The anthology of one work."""

    work: str
    half: str
    clock: Clock
    parts: tuple[PrintedPart, ...]


def half_of(work: str) -> str:
    """Works of one composer stay together: to learn from, or to report."""
    composer = work.partition(",")[0]
    digest = hashlib.sha256((_SALT + composer).encode()).digest()
    return REPORT if digest[0] % 2 else LEARN


def sheets(half: str | None = None, most_works: int | None = None) -> Iterator[Sheet]:
    """Anthologies of the quartets at hand, of one half or of both; at most so many of each half."""
    seen: Counter[str] = Counter()
    for work in open_quartets():
        own = half_of(work.name)
        if half not in (None, own) or (most_works is not None and seen[own] >= most_works):
            continue
        seen[own] += 1
        yield read_sheet(work)


def read_sheet(work: Work) -> Sheet:
    """One work cut down."""
    music = read_music(work.path)
    parts = _printed_parts(work.path)
    starts = _passages(music, parts)
    clock, shifts = _joined_clock(music, starts)
    cut = tuple(
        replace(part, notes=_cut_notes(part, starts, shifts)) for part in parts if part.notes
    )
    return Sheet(work.name, half_of(work.name), clock, tuple(part for part in cut if part.notes))


def _printed_parts(path: Path) -> list[PrintedPart]:
    rows: dict[str, dict[tuple[int, int], PrintedNote]] = {}
    with gzip.open(path.with_suffix(".csv.gz"), "rt", encoding="utf-8") as table:
        for row in csv.DictReader(table):
            note = PrintedNote(
                onset=int(row["onset_tick"]),
                length=int(row["written_ticks"]),
                pitch=int(row["pitch"]),
                dotted=row["staccato"] == "1",
                slurred=row["slurred_to_next"] == "1",
                pizzicato=row["pizz_or_arco"] == "pizzicato",
                tremolo=row["tremolo"] == "1",
                trill=row["trill"] == "1",
            )
            # Two strings in unison are one key; the longer note stays.
            notes = rows.setdefault(row["part"], {})
            same = notes.get((note.onset, note.pitch))
            if note.length > 0 and (same is None or same.length < note.length):
                notes[note.onset, note.pitch] = note
    return [
        PrintedPart(name, _instrument(name), tuple(notes[key] for key in sorted(notes)))
        for name, notes in rows.items()
    ]


def _instrument(name: str) -> str:
    words = (("violoncello", "cello"), ("cello", "cello"), ("viola", "viola"))
    return next((kind for word, kind in words if word in name.lower()), "violin")


Passage = tuple[int, int]
"""First tick and the tick after the last."""


def _passages(music: Music, parts: list[PrintedPart]) -> list[Passage]:
    """Passages of whole bars, the richest in each mark, none overlapping, in order of time."""
    candidates = _bar_passages(music)
    counted = [_marks(parts, passage) for passage in candidates]
    chosen = [candidates[len(candidates) // 2]]
    for mark in ("trill", "tremolo", "pizzicato", "dotted", "slurred"):
        ranked = sorted(
            range(len(candidates)), key=lambda row: (-counted[row][mark], candidates[row])
        )
        for row in ranked:
            first, after = candidates[row]
            if counted[row][mark] < _FEWEST_MARKS:
                break
            if all(after <= other[0] or first >= other[1] for other in chosen):
                chosen.append(candidates[row])
                break
    return sorted(chosen)


def _bar_passages(music: Music) -> list[Passage]:
    """Every stretch of bars of about that length that begins four seconds after another."""
    bars = [music.bar_start(bar) for bar in range(1, music.bar_at(music.end) + 1)] + [music.end]
    clock = Clock(music.ticks_per_quarter, music.tempos, music.meters)
    seconds = [clock.second_at(tick) for tick in bars]
    passages, latest = [], -_PASSAGE_S
    for row, begin_s in enumerate(seconds[:-1]):
        if begin_s - latest < _PASSAGE_S / 4:
            continue
        after = next(
            (n for n in range(row + 1, len(bars)) if seconds[n] - begin_s >= _PASSAGE_S), 0
        )
        if after:
            passages.append((bars[row], bars[after]))
            latest = begin_s
    return passages or [(0, music.end)]


def _marks(parts: list[PrintedPart], passage: Passage) -> Counter[str]:
    found: Counter[str] = Counter()
    for part in parts:
        for note in part.notes:
            if passage[0] <= note.onset < passage[1]:
                found["dotted"] += note.dotted and not note.slurred
                found["slurred"] += note.slurred
                found["pizzicato"] += note.pizzicato
                found["tremolo"] += note.tremolo
                found["trill"] += note.trill
    return found


def _joined_clock(music: Music, starts: list[Passage]) -> tuple[Clock, list[int]]:
    """The passages one after the other, a bar of rest between; and how far each is moved."""
    source = Clock(music.ticks_per_quarter, music.tempos, music.meters)
    tempos: list[tuple[int, float]] = []
    meters: list[tuple[int, int, int]] = []
    shifts, at = [], 0
    for first, after in starts:
        shift = at - first
        shifts.append(shift)
        tempos.append((at, [value for tick, value in music.tempos if tick <= first][-1]))
        tempos += [(tick + shift, value) for tick, value in music.tempos if first < tick < after]
        meters.append((at, *[row[1:] for row in music.meters if row[0] <= first][-1]))
        meters += [(row[0] + shift, *row[1:]) for row in music.meters if first < row[0] < after]
        at = after + shift + source.bar_ticks_at(after - 1)
    return Clock(music.ticks_per_quarter, tuple(tempos), tuple(meters)), shifts


def _cut_notes(
    part: PrintedPart, starts: list[Passage], shifts: list[int]
) -> tuple[PrintedNote, ...]:
    return tuple(
        replace(
            note,
            onset=note.onset + shift,
            length=min(note.length, after - note.onset),
        )
        for (first, after), shift in zip(starts, shifts, strict=True)
        for note in part.notes
        if first <= note.onset < after
    )
