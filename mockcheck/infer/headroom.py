"""How much faster, or slower, each place could go: the search turned into words and numbers."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.binding import binding_movement
from mockcheck.infer.bottleneck import best_path
from mockcheck.infer.fingering import BURST_EVENTS, SUSTAINED_EVENTS, Solution, solve
from mockcheck.infer.lines import PlayerLine, player_line
from mockcheck.infer.search import Line, Search, prepare
from mockcheck.model.columns import stretches
from mockcheck.model.played import FingeringColumns, PlayedPart, TightPassage
from mockcheck.model.session import Level, Session
from mockcheck.params import Params, quantity
from mockcheck.playing.times import MotionTimes, uncertain_times

_OCTAVE = 12
_LIMIT = 1 + 1e-9
"""The shared tolerance: exactly on the limit is playable."""
_CALM_S = 1.0
"""A note or rest as long is no part of a run."""
_TIGHT_SHARE = 0.4
"""Movements with at least this share of the worst ratio belong to the passage."""


class LevelFactors(Params):
    """How much longer everything takes players who had less time with the music."""

    rehearsed: float = quantity(
        1.075,
        unit="times a soloist's time",
        low=1,
        high=3,
        meaning="after a few run-throughs",
        source="the largest factor at which no section is too slow for its metronome mark, fitted"
        " on the even rows of a table of published passages; of the odd rows none is either",
    )
    sight: float = quantity(
        1.35,
        unit="times a soloist's time",
        low=1,
        high=4,
        meaning="a section that reads at sight",
        source="a quarter more than rehearsed; from memory, no table tells",
    )


LEVEL_FACTORS = LevelFactors()


def level_factor(level: Level) -> float:
    """What a level multiplies all times by; a soloist who has practised is 1."""
    return {
        Level.SOLO: 1.0,
        Level.REHEARSED: LEVEL_FACTORS.rehearsed,
        Level.SIGHT: LEVEL_FACTORS.sight,
    }[level]


def time_factor(session: Session) -> float:
    """What the players of a session multiply all times of a practised soloist by."""
    return level_factor(session.level) / session.tempo_share


def with_headroom(part: PlayedPart, times: MotionTimes | None = None) -> PlayedPart:
    """The part with one workable fingering, its tight passages and its headroom.

    A part without strings of its own, or without notes that a hand can take, stays as it is.
    """
    player = player_line(part)
    if player is None:
        return part
    times = times or MotionTimes()
    search = prepare(player.board, player.hand, player.line, times)
    factor = time_factor(part.session)
    solution = solve(search, factor)
    event, worst = _tightest_movement(search, solution)
    return replace(
        part,
        fingering=_fingering(part, player, search, solution),
        passages=tuple(
            _passage(part, player, search, solution, times, found)
            for found in _found_passages(search, solution)
        ),
        headroom=1 / (worst * factor) if worst > 0 else None,
        headroom_tick=int(part.notes.onset_ticks[player.notes[event][0]]),
    )


def _tightest_movement(search: Search, solution: Solution) -> tuple[int, float]:
    """Event that the deciding movement of the line leaves, and its ratio for a soloist.

    In 64-bit, so that scaling the tempo scales it exactly.
    """
    tightest = 0, 0.0
    for windows, events in (
        (solution.burst, BURST_EVENTS),
        (solution.sustained, SUSTAINED_EVENTS),
    ):
        first = int(windows.argmax())
        _, ratio = best_path(*_window(search, first, events))
        if len(ratio) and ratio.max() > tightest[1]:
            tightest = first + int(ratio.argmax()), float(ratio.max())
    return tightest


def _window(search: Search, first: int, events: int) -> tuple[Search, NDArray[np.float64]]:
    """A few events as a search of their own, with the time they have within the whole line."""
    return search.part_of(first, events), search.line.gap_s[first : first + events - 1]


def _fingering(
    part: PlayedPart, player: PlayerLine, search: Search, solution: Solution
) -> FingeringColumns:
    count = len(part.notes)
    string_index = np.full(count, -1, np.int8)
    finger = np.zeros(count, np.int8)
    stop = np.full(count, -1, np.int16)
    # A held note keeps what was decided when it was struck: later events do not overwrite it.
    for event in range(len(player.notes) - 1, -1, -1):
        options = search.placements_of(event)
        chosen = int(solution.placement[event])
        pitches = player.line.events[event]
        for note, pitch in zip(player.notes[event], pitches, strict=True):
            for string, open_pitch in enumerate(player.board.open_strings):
                if options.stop[chosen, string] == pitch - open_pitch:
                    string_index[note], stop[note] = string, pitch - open_pitch
                    finger[note] = options.finger[chosen, string]
    return FingeringColumns(string_index, finger, stop)


@dataclass(frozen=True)
class _Found:
    """Events `first` to `after` of a passage, and its worst window."""

    first: int
    after: int
    window_first: int
    moves: int


def _found_passages(search: Search, solution: Solution) -> list[_Found]:
    """Stretches that bursts over the limit cover, and long windows where no burst is over it.

    A note or rest of a second is no part of a run: what stands on either side is found by itself.
    """
    events = len(search.line.events)
    found: list[_Found] = []
    is_taken = np.zeros(max(events - 1, 0), np.bool_)
    for windows, size in (
        (solution.burst, BURST_EVENTS),
        (solution.sustained, SUSTAINED_EVENTS),
    ):
        moves = min(size - 1, events - 1)
        is_covered = np.zeros_like(is_taken)
        for left, right in stretches(windows > _LIMIT):
            is_covered[left : right - 1 + moves] = True
        for first, after in stretches(is_covered):
            if not is_taken[first:after].any():
                worst = first + int(windows[first : after - moves + 1].argmax())
                whole = _Found(first, after + 1, worst, moves)
                found += _without_calm(search, solution, whole, windows)
        is_taken |= is_covered
    return sorted(found, key=lambda item: item.first)


def _without_calm(
    search: Search, solution: Solution, whole: _Found, windows: NDArray[np.float64]
) -> list[_Found]:
    """A passage cut at its long notes and rests; pieces that go by themselves are left out."""
    moves = slice(whole.first, whole.after - 1)
    is_over = solution.ratio[moves] > _LIMIT
    is_long = np.diff(search.line.onset_s[whole.first : whole.after]) >= _CALM_S
    pieces = []
    for left, right in stretches(~is_long | is_over):
        if is_over[left:right].any():
            first, after = whole.first + left, whole.first + right
            size = min(whole.moves, right - left)
            # A piece no longer than a window is a window by itself.
            starts = windows[first : after - size + 1] if right - left > size else [0]
            worst = first + int(np.argmax(starts))
            pieces.append(_Found(first, after + 1, worst, size))
    return pieces if len(pieces) > 1 else [whole]


def _passage(
    part: PlayedPart,
    player: PlayerLine,
    search: Search,
    solution: Solution,
    times: MotionTimes,
    found: _Found,
) -> TightPassage:
    factor = time_factor(part.session)
    small, gap_s = _window(search, found.window_first, found.moves + 1)
    path, ratio = best_path(small, gap_s)
    fastest, slowest = uncertain_times(times)
    loose = player.loose_strokes[found.window_first : found.window_first + found.moves + 1]
    least = _worst(search, replace(small.line, strokes=loose), gap_s, fastest)
    most = _worst(search, small.line, gap_s, slowest)
    line = small.line
    move = int(ratio.argmax())
    binding = binding_movement(part, small, gap_s, path, move)
    pitches = line.events[move], line.events[move + 1]
    first, after = _tight_part(search, solution, found)
    notes = sorted({note for event in range(first, after) for note in player.notes[event]})
    onset_s = player.line.onset_s
    return TightPassage(
        note_indices=tuple(notes),
        ratio=float(ratio.max()) * factor,
        ratio_low=least * factor,
        ratio_high=most * factor,
        solo_ratio_low=least,
        is_leap=_is_leap(pitches, ratio * factor),
        binding=binding.words,
        needed_ms=binding.needed_s * 1000 * factor,
        available_ms=binding.available_s * 1000,
        notes_per_s=float((after - first - 1) / max(onset_s[after - 1] - onset_s[first], 1e-4)),
    )


def _worst(search: Search, line: Line, gap_s: NDArray[np.float64], times: MotionTimes) -> float:
    """Worst ratio of a short line for a soloist with these times."""
    small = prepare(search.board, search.hand, line, times)
    return float(best_path(small, gap_s)[1].max(initial=0.0))


def _tight_part(search: Search, solution: Solution, found: _Found) -> tuple[int, int]:
    """The events of a passage without the calm ones that only fill its windows.

    What does not go, and the neighbours that are nearly as fast as written; time that a movement
    may borrow makes no note of a run calm, and none beside it fast.
    """
    moves = slice(found.first, found.after - 1)
    written_s = np.maximum(np.diff(search.line.onset_s[found.first : found.after]), 1e-6)
    ratio = solution.ratio[moves]
    written = ratio * search.line.gap_s[moves] / written_s
    over = np.flatnonzero(ratio > min(_LIMIT, float(ratio.max())))
    over = over if len(over) else np.flatnonzero(ratio == ratio.max())
    first, last = int(over[0]), int(over[-1])
    is_fast = written >= _TIGHT_SHARE * written[first : last + 1].max()
    while first > 0 and is_fast[first - 1]:
        first -= 1
    while last + 1 < len(ratio) and is_fast[last + 1]:
        last += 1
    return found.first + first, found.first + last + 2


def _is_leap(pitches: tuple[tuple[int, ...], ...], ratio: NDArray[np.float64]) -> bool:
    interval = abs(max(pitches[1]) - max(pitches[0]))
    return interval >= _OCTAVE and int((ratio > 1).sum()) <= 2
