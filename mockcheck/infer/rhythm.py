"""How the rhythm of each part would be written, and how it was played about that.

Each line of a part is read alone, as the most likely row of rhythms beat by beat; then once more,
with how all parts divide the beats about it in mind, and with the spread of its own playing. What
belongs to the playing stays apart: all of a part early or late, swing, chords rolled, grace notes.

Source: rhythm as prior times timing, A. Cemgil and others (2000); spread re-estimated as in EM.
Not modelled: note ends; a tempo that the file does not follow (see `infer/bar_lines.py`); trills
and unmeasured tremolo, whose strokes get places like any others.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.bar_lines import follows_bar_lines
from mockcheck.infer.beat_grid import find_beats
from mockcheck.infer.rhythm_onsets import LineOnsets, find_onsets
from mockcheck.infer.rhythm_path import best_patterns
from mockcheck.infer.rhythm_patterns import PatternTable, pattern_table
from mockcheck.infer.rhythm_playing import PLAYING, Playing, find_playing, jitter_of, straightened
from mockcheck.model.played import PlayedPart
from mockcheck.model.written import BeatGrid, WrittenOnsets, WrittenRhythm

_LATE_LEAST_S = 0.012
_LATE_COST = 0.1
"""A part is late as a whole where that explains its onsets better by this much each (nats)."""
_CONTEXT_BEATS = 8
_CONTEXT_WEIGHT = 1.0
_CONTEXT_PRIOR = 2.0
_USUAL = np.array([1.0, 0.75, 0.2, 0.05])
"""Share of beats divided in two, in three, and otherwise, where they are divided at all."""
_NAMED_PARTS = (1, 2, 3, 4, 6, 8, 12, 16, 5, 7, 9, 10, 24, 32, 48)
_NAMED_WITHIN_S = 0.004


@dataclass(frozen=True)
class _Line:
    """One line of a part while it is read; `rows` are its notes in the part."""

    part: int
    rows: NDArray[np.int64]
    onsets: LineOnsets
    ticks: NDArray[np.float64]
    playing: Playing
    pattern: NDArray[np.int64]
    first: NDArray[np.int64]


def with_rhythm(parts: Sequence[PlayedPart]) -> tuple[PlayedPart, ...]:
    """Parts with the rhythm that each would have on the page.

    Parts in a file without beats, or whose notes do not follow the bar lines, stay without.
    """
    grids: dict[int, BeatGrid | None] = {}
    end = max((int(part.notes.onset_ticks.max(initial=0)) for part in parts), default=0)
    for part in parts:
        if id(part.timeline) not in grids:
            grids[id(part.timeline)] = find_beats(part.timeline, end)
    written: dict[int, WrittenRhythm] = {}
    for key, grid in grids.items():
        if grid is None:
            continue
        members = [
            number
            for number, part in enumerate(parts)
            if id(part.timeline) == key and len(part.notes) and follows_bar_lines(part)
        ]
        written |= _read_together({number: parts[number] for number in members}, grid)
    return tuple(replace(part, written=written.get(number)) for number, part in enumerate(parts))


def _read_together(parts: dict[int, PlayedPart], grid: BeatGrid) -> dict[int, WrittenRhythm]:
    table = pattern_table()
    lines = [
        _first_reading(number, part, np.flatnonzero(voice == own), grid, table)
        for number, part in parts.items()
        for voice in [_voices(part)]
        for own in np.unique(voice).tolist()
    ]
    bias = _context(lines, grid, table)
    lines = [_second_reading(line, grid, table, bias) for line in lines]
    return {
        number: _written(part, [line for line in lines if line.part == number], grid, table)
        for number, part in parts.items()
    }


def _voices(part: PlayedPart) -> NDArray[np.int64]:
    """Lines of a divided part are read each alone; double stops are one rhythm."""
    if part.lines is None:
        return np.zeros(len(part.notes), np.int64)
    return part.lines.read_line


def _first_reading(
    number: int,
    part: PlayedPart,
    rows: NDArray[np.int64],
    grid: BeatGrid,
    table: PatternTable,
) -> _Line:
    notes = part.notes.select(rows)
    beat = np.searchsorted(grid.ticks, notes.onset_ticks, side="right") - 1
    beat_s = float(np.median(grid.seconds[beat]))
    playing = find_playing(notes.onset_ticks.astype(np.float64), grid)
    onsets = find_onsets(notes, playing.is_quantised, beat_s)
    ticks = straightened(onsets.ticks, grid, playing)
    pattern, first, cost = best_patterns(ticks, grid, playing.jitter_s, table)
    if abs(playing.late_s) > _LATE_LEAST_S:
        on_time = replace(playing, late_s=0.0)
        other = straightened(onsets.ticks, grid, on_time)
        other_pattern, other_first, other_cost = best_patterns(other, grid, playing.jitter_s, table)
        if other_cost < cost + _LATE_COST * len(ticks):
            playing, ticks, pattern, first = on_time, other, other_pattern, other_first
    return _Line(number, rows, onsets, ticks, playing, pattern, first)


def _second_reading(
    line: _Line, grid: BeatGrid, table: PatternTable, bias: NDArray[np.float64]
) -> _Line:
    playing = line.playing
    if not playing.is_quantised:
        off_s = _deviations_s(line, grid, table)
        still_s = (
            0.0 if playing.is_drawn or len(off_s) < PLAYING.late_onsets else float(np.median(off_s))
        )
        jitter_s = jitter_of(off_s)
        playing = replace(playing, jitter_s=jitter_s, late_s=playing.late_s + still_s)
    ticks = straightened(line.onsets.ticks, grid, playing)
    pattern, first, _ = best_patterns(ticks, grid, playing.jitter_s, table, bias)
    return replace(line, playing=playing, ticks=ticks, pattern=pattern, first=first)


def _places(line: _Line, table: PatternTable) -> tuple[NDArray[np.int64], list[Fraction]]:
    """Beat of each onset, and its place there."""
    count = np.diff(line.first)
    beat = np.repeat(np.arange(len(count)), count)
    places: list[Fraction] = []
    for row, size in zip(line.pattern[count > 0].tolist(), count[count > 0].tolist(), strict=True):
        pattern = table.patterns[row]
        if len(pattern) == size:
            places += pattern
        else:  # more than any rhythm has
            places += [Fraction(k, size) for k in range(size)]
    return beat, places


def _deviations_s(line: _Line, grid: BeatGrid, table: PatternTable) -> NDArray[np.float64]:
    beat, places = _places(line, table)
    within = (line.ticks - grid.ticks[beat]) / grid.unit_ticks[beat]
    off: NDArray[np.float64] = (within - np.array(places, np.float64)) * grid.seconds[beat]
    return off


def _context(lines: Sequence[_Line], grid: BeatGrid, table: PatternTable) -> NDArray[np.float64]:
    """Cost of dividing each beat in two, in three or otherwise, as all lines about it do."""
    # Set on the half of the quartets in which rhythms were counted; 4 beats, and twice the weight,
    # do nearly as well.
    seen = np.zeros((len(grid), len(_USUAL)))
    for line in lines:
        np.add.at(seen, (np.arange(len(grid)), table.family[line.pattern]), 1)
    seen[:, 0] = 0
    summed = np.cumsum(np.vstack([np.zeros(len(_USUAL)), seen]), axis=0)
    low = np.maximum(np.arange(len(grid)) - _CONTEXT_BEATS, 0)
    high = np.minimum(np.arange(len(grid)) + _CONTEXT_BEATS + 1, len(grid))
    near = summed[high] - summed[low]
    share = (near + _CONTEXT_PRIOR * _USUAL) / (near.sum(axis=1, keepdims=True) + _CONTEXT_PRIOR)
    bias: NDArray[np.float64] = -_CONTEXT_WEIGHT * np.log(share / _USUAL)
    bias[:, 0] = 0
    return bias


def _written(
    part: PlayedPart, lines: Sequence[_Line], grid: BeatGrid, table: PatternTable
) -> WrittenRhythm:
    size = len(part.notes)
    whole = {name: np.zeros(size, np.int64) for name in ("beat", "division", "voice")}
    numerator, denominator = np.zeros(size, np.int64), np.ones(size, np.int64)
    deviation_ms, kind = np.zeros(size), np.zeros(size, np.int8)
    for number, line in enumerate(lines):
        beat, places = _places(line, table)
        division = table.division[line.pattern]
        if line.playing.is_quantised:
            division = _name_exactly(line, grid, beat, places, division)
        own, rows = line.onsets.of_note, line.rows
        numerator[rows] = np.array([place.numerator for place in places])[own]
        denominator[rows] = np.array([place.denominator for place in places])[own]
        whole["beat"][rows], whole["division"][rows] = beat[own], division[beat][own]
        whole["voice"][rows], kind[rows] = number, line.onsets.kind
        played = straightened(part.notes.onset_ticks[rows].astype(np.float64), grid, line.playing)
        share = numerator[rows] / denominator[rows]
        within = (played - grid.ticks[beat[own]]) / grid.unit_ticks[beat[own]]
        deviation_ms[rows] = 1000 * (within - share) * grid.seconds[beat[own]]
    most = max(lines, key=lambda line: len(line.rows)).playing
    return WrittenRhythm(
        grid=grid,
        onsets=WrittenOnsets(
            whole["beat"], numerator, denominator, deviation_ms, whole["division"], kind
        ),
        voice=whole["voice"],
        is_quantised=most.is_quantised,
        jitter_ms=1000 * most.jitter_s,
        late_ms=1000 * most.late_s,
        swing=most.swing,
    )


def _name_exactly(
    line: _Line,
    grid: BeatGrid,
    beat: NDArray[np.int64],
    places: list[Fraction],
    division: NDArray[np.int64],
) -> NDArray[np.int64]:
    """Onsets on the grid of a machine that no usual rhythm explains keep the place they have."""
    within = (line.ticks - grid.ticks[beat]) / grid.unit_ticks[beat]
    off_s = np.abs(within - np.array(places, np.float64)) * grid.seconds[beat]
    named = division.copy()
    for odd in np.unique(beat[off_s > _NAMED_WITHIN_S]).tolist():
        members = np.flatnonzero(beat == odd)
        for parts in _NAMED_PARTS:
            nearest = np.rint(within[members] * parts)
            error_s = np.abs(within[members] - nearest / parts) * grid.seconds[odd]
            if error_s.max() <= _NAMED_WITHIN_S and nearest.min() >= 0 and nearest.max() < parts:
                named[odd] = parts
                for row, place in zip(members.tolist(), nearest.tolist(), strict=True):
                    places[row] = Fraction(int(place), parts)
                break
    return named
