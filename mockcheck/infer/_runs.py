"""A run cut out of its part: where it begins, where it lands, its beats and its turns."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.bottleneck import best_path
from mockcheck.infer.excerpts import excerpt
from mockcheck.infer.headroom import time_factor
from mockcheck.infer.lines import PlayerLine, player_line
from mockcheck.infer.search import assemble
from mockcheck.model.played import PlayedPart, TightPassage
from mockcheck.playing.fingerboard import Fingerboard
from mockcheck.playing.hand import Hand
from mockcheck.playing.times import MotionTimes
from mockcheck.playing.transitions import Pair, TransitionTables, transition_tables

MOST_NOTES = 64
"""Longer passages are a question of tempo, not of a run."""

_CONTEXT_NOTES = 24
_CONTEXT_EVENTS = 2
_SHORTEST_BEAT_S = 0.3
"""Nobody feels a beat shorter than this (quarter = 200); two are then felt as one."""
_LOOSEST_BEAT = 1 / 16
_LANDS_AFTER = 1.5
"""A gap this much longer than what would be playable belongs to the calm around a run."""


@dataclass(frozen=True)
class Stretch:
    """The events from one that keeps its place to before the next that does, and how long it is."""

    first: int
    after: int
    onset_ticks: int
    ticks: int
    beats: float

    @property
    def per_beat(self) -> float:
        """Notes in a beat."""
        return (self.after - self.first) / max(self.beats, 1e-6)


@dataclass(frozen=True)
class Run:
    """The events of a run and a little of what is around it.

    Parameters
    ----------
    part, rows
        An excerpt of the part, and the index in the part of each of its notes.
    player
        What one player reads of the excerpt.
    first, after
        The run's events, first to before `after`.
    landing
        The event it leads to, `after`; None where it ends with a note as short as the others.
    ticks, beats, pitches
        Onset, place in felt beats and top pitch of every event, shape (events,).
    turns
        Events at which the line changes direction.
    stretches
        The run from beat to beat; the first event of each keeps its place.
    """

    part: PlayedPart
    rows: NDArray[np.int64]
    player: PlayerLine
    first: int
    after: int
    landing: int | None
    ticks: NDArray[np.int64]
    beats: NDArray[np.float64]
    pitches: NDArray[np.int64]
    turns: tuple[int, ...]
    stretches: tuple[Stretch, ...]

    @property
    def per_beat(self) -> float:
        """Notes in a beat where the run has most."""
        return max(self.stretches, key=lambda stretch: stretch.after - stretch.first).per_beat

    @property
    def last(self) -> int:
        """The landing, or the last event of a run without one."""
        return self.after - 1 if self.landing is None else self.landing

    def is_on_beat(self, event: int, parts: int = 1) -> bool:
        """Whether an event falls on a beat, or on a part of it, as near as a hand plays."""
        return _is_near_beat(self.beats, event, parts)

    def top_note(self, event: int) -> int:
        """Index in the part of the highest note of an event."""
        return int(self.rows[self.player.notes[event][-1]])

    def name(self, event: int) -> str:
        """The event's pitches as this user names them."""
        return "+".join(self.part.pitch_name(pitch) for pitch in self.player.line.events[event])


def find_run(part: PlayedPart, passage: TightPassage) -> Run | None:
    """The run that a tight passage belongs to, with its neighbours that are too fast as well.

    None where it has more than MOST_NOTES notes or fewer than three.
    """
    begin = max(passage.note_indices[0] - _CONTEXT_NOTES, 0)
    end = min(passage.note_indices[-1] + 1 + _CONTEXT_NOTES, len(part.notes))
    rows = np.arange(begin, end, dtype=np.int64)
    around = excerpt(part, rows)
    player = player_line(around)
    assert player is not None, "a hand takes the notes of a passage"
    wanted = set(passage.note_indices)
    inside = [
        event
        for event, notes in enumerate(player.notes)
        if all(int(rows[note]) in wanted for note in notes)
    ]
    gap_s = np.diff(player.line.onset_s)
    first, last = _whole_run(gap_s, inside, passage.ratio) if len(inside) > 1 else (0, 0)
    if not 2 <= last - first <= MOST_NOTES:
        return None
    ticks = np.array(
        [around.notes.onset_ticks[list(notes)].max() for notes in player.notes], np.int64
    )
    beats = _beats(around, ticks, first, last)
    usual_s = float(np.median(gap_s[first:last]))
    held_s = float(around.notes.duration_s[player.notes[last][-1]])
    is_landing = _is_near_beat(beats, last) or held_s > _LANDS_AFTER * usual_s
    after = last if is_landing else last + 1
    pitches = np.array([max(pitches) for pitches in player.line.events], np.int64)
    return Run(
        part=around,
        rows=rows,
        player=player,
        first=first,
        after=after,
        landing=last if is_landing else None,
        ticks=ticks,
        beats=beats,
        pitches=pitches,
        turns=_turns(pitches, first, last),
        stretches=_stretches(ticks, beats, first, after, last),
    )


def as_played(run: Run, events: list[int], onset_ticks: list[int]) -> PlayedPart:
    """The run with only these events, beginning at these ticks, and two events on either side."""
    notes = run.part.notes
    event_of = np.searchsorted(run.player.line.onset_s, notes.onset_s - 1e-9)
    event_of = np.minimum(event_of, len(run.ticks) - 1)
    new_tick = {event: int(tick) for event, tick in enumerate(run.ticks)}
    new_tick |= dict(zip(events, onset_ticks, strict=True))
    shown = {
        *range(max(run.first - _CONTEXT_EVENTS, 0), run.first),
        *events,
        *range(run.last + 1, min(run.last + 1 + _CONTEXT_EVENTS, len(run.ticks))),
    }
    keep = np.flatnonzero(np.isin(event_of, list(shown)))
    after = dict(pairwise([*sorted(shown), len(run.ticks)]))
    tempo = run.part.timeline.tempo
    onset, release = notes.onset_ticks.copy(), notes.release_ticks.copy()
    for note in keep.tolist():
        event = int(event_of[note])
        onset[note] += new_tick[event] - int(run.ticks[event])
        following = after[event]
        if following < len(run.ticks) and event + 1 < len(run.ticks):
            # What was slurred or detached stays so: the gap to the next note is kept.
            release[note] += new_tick[following] - int(run.ticks[event + 1])
        release[note] = max(release[note], onset[note])
    order = keep[np.lexsort((notes.pitch[keep], onset[keep]))]
    moved = replace(
        notes,
        onset_ticks=onset,
        release_ticks=release,
        onset_s=tempo.seconds_at(onset),
        release_s=tempo.seconds_at(release),
        sound_end_s=tempo.seconds_at(release),
    )
    return excerpt(replace(run.part, notes=moved), order)


def ratio_of(part: PlayedPart) -> float:
    """Time needed over time available at the session's level, over the whole excerpt at once."""
    player = player_line(part)
    assert player is not None, "a hand takes the notes of a run"
    line = player.line
    if len(line.events) == 1:
        # Notes out of reach are left out, and a single one has no step that could be too fast.
        return 0.0
    steps = zip(line.events[:-1], line.events[1:], line.strokes[1:], strict=True)
    seconds = np.stack([_seconds(player.board, player.hand, Pair(*step)) for step in steps])
    # Comfort plays no part in the fastest path.
    tables = TransitionTables(seconds, np.zeros_like(seconds))
    rows = np.arange(len(seconds))
    search = assemble(player.board, player.hand, line, MotionTimes(), tables, rows)
    _, ratio = best_path(search, line.gap_s)
    return float(ratio.max()) * time_factor(part.session)


@lru_cache(maxsize=4096)
def _seconds(board: Fingerboard, hand: Hand, pair: Pair) -> NDArray[np.float32]:
    """One step's table, kept because the trials for one run share most of their steps."""
    seconds: NDArray[np.float32] = transition_tables(board, hand, [pair], MotionTimes()).seconds[0]
    return seconds


def _whole_run(gap_s: NDArray[np.float64], inside: list[int], ratio: float) -> tuple[int, int]:
    """First and last event: neighbours as fast come in, a note held from before stays out."""
    first, last = inside[0], inside[-1]
    playable_s = float(np.median(gap_s[first:last])) * ratio
    while first > 0 and gap_s[first - 1] < playable_s:
        first -= 1
    while last < len(gap_s) and gap_s[last] < playable_s:
        last += 1
    while last - first > 1 and gap_s[first] > _LANDS_AFTER * playable_s:
        first += 1
    return first, last


def _beats(
    part: PlayedPart, ticks: NDArray[np.int64], first: int, last: int
) -> NDArray[np.float64]:
    """Place of each event in felt beats from the bar in which the run begins."""
    meter, tempo = part.timeline.meter, part.timeline.tempo
    begin = int(ticks[first])
    if meter is None:
        # No bars, no beats: the whole run stands for one.
        return (ticks - begin) / max(int(ticks[last]) - begin, 1)
    piece = max(int(np.searchsorted(meter.ticks, begin, side="right")) - 1, 0)
    beat_ticks = float(meter.beat_ticks[piece])
    if meter.denominators[piece] >= 8 and meter.numerators[piece] % 3 == 0:
        beat_ticks *= 3
    beat_s = tempo.second_at(begin + round(beat_ticks)) - tempo.second_at(begin)
    while 0 < beat_s < _SHORTEST_BEAT_S:
        beat_ticks, beat_s = 2 * beat_ticks, 2 * beat_s
    bar = meter.bar_start(meter.bar_index(np.array([begin], np.int64)))
    beats: NDArray[np.float64] = (ticks - int(bar[0])) / beat_ticks
    return beats


def _is_near_beat(beats: NDArray[np.float64], event: int, parts: int = 1) -> bool:
    gaps = np.diff(beats[max(event - 1, 0) : event + 2])
    loose = min(0.45 * float(gaps.min(initial=1.0)), _LOOSEST_BEAT)
    place = float(beats[event]) * parts
    return abs(place - round(place)) <= loose * parts + 1e-9


def _stretches(
    ticks: NDArray[np.int64], beats: NDArray[np.float64], first: int, after: int, last: int
) -> tuple[Stretch, ...]:
    """The run cut at its beats; without a landing it ends where one more note would begin."""
    starts = [first, *_on_beats(beats, first, after)]
    end_ticks, end_beats = float(ticks[last]), float(beats[last])
    if after > last:
        end_ticks += float(np.median(np.diff(ticks[first:after])))
        end_beats += float(np.median(np.diff(beats[first:after])))
    edges = [(event, float(ticks[event]), float(beats[event])) for event in starts]
    edges.append((after, end_ticks, end_beats))
    return tuple(
        Stretch(left[0], right[0], round(left[1]), round(right[1] - left[1]), right[2] - left[2])
        for left, right in pairwise(edges)
    )


def _on_beats(beats: NDArray[np.float64], first: int, after: int) -> list[int]:
    """Events on beats inside a run, without the beats that its ends stand for.

    Near a beat is less than half a gap, so no two events are near the same one.
    """
    ends = [event for event in (first, after) if event < len(beats)]
    taken = {round(float(beats[event])) for event in ends if _is_near_beat(beats, event)}
    return [
        event
        for event in range(first + 1, after)
        if _is_near_beat(beats, event) and round(float(beats[event])) not in taken
    ]


def _turns(pitches: NDArray[np.int64], first: int, last: int) -> tuple[int, ...]:
    turns, before = [], 0
    for event in range(first, last):
        direction = int(np.sign(pitches[event + 1] - pitches[event]))
        if direction and before and direction != before:
            turns.append(event)
        before = direction or before
    return tuple(turns)
