"""Which notes of a run can go, so that the rest can be played and nobody misses them.

A fast run is heard as its first note, its turns, its beats and where it lands. Notes between
them may be left out; what stays is spread evenly between the beats, and the search over
fingerings says whether it goes.

Source: the habit of leaving notes out of a run that is too dense, near the end that matters less
(common practice, no source).
Not modelled: harmony. A metre that changes inside the run keeps the beat it began with.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer._runs import Run, Stretch, as_played, find_run, ratio_of
from mockcheck.model.played import PlayedPart, TightPassage
from mockcheck.params import Params, quantity
from mockcheck.units import SEMITONES_PER_OCTAVE

GROUPS = (16, 12, 8, 6, 4, 3)
"""Notes in a beat that are read without counting."""

_LIMIT = 1 + 1e-9
_MARGIN = 1.1
_SLACK = 0.25
"""A beat that is a few ticks short, as seventeen notes of whole ticks make it, is still a beat."""
_NEAR = 0.42
_NAMED = 8
"""More names than this in one sentence are not read."""


class Thinning(Params):
    """What the ear misses most in a run; only the order of these weights matters."""

    approach: float = quantity(
        8, unit="points", low=0, high=100, meaning="the note before the landing"
    )
    half_beat: float = quantity(2, unit="points", low=0, high=100, meaning="a note on a half beat")
    scale_tone: float = quantity(
        1, unit="points", low=0, high=100, meaning="a note of the scale that the run moves in"
    )
    equal_step: float = quantity(
        0.5, unit="points", low=0, high=100, meaning="a step that stays as written"
    )
    skipped: float = quantity(
        2,
        unit="points a note, squared",
        low=0,
        high=100,
        meaning="notes left out side by side, the more the nearer they are to the end that matters",
    )
    uneven: float = quantity(
        0.3,
        unit="points a note, squared",
        low=0,
        high=100,
        meaning="a note of a run of several beats that stays, but lies away from even steps",
    )
    least_per_beat: float = quantity(
        4.5,
        unit="notes a beat",
        low=1,
        high=16,
        meaning="below this it is a melody at the wrong tempo, and every note is missed",
    )
    glissando_notes_per_s: float = quantity(
        14,
        unit="notes/s",
        low=5,
        high=40,
        meaning="from here on a run on one string is heard as a slide",
        source="fastest sustained runs in recorded caprices, 14.5 a second (99th percentile)",
    )
    chromatic_share: float = quantity(
        0.8, unit="share of steps", low=0.5, high=1, meaning="semitones in a chromatic run"
    )
    desks: float = quantity(
        4, unit="players", low=2, high=40, meaning="fewer do not share a run between desks"
    )


THINNING = Thinning()


@dataclass(frozen=True)
class Thinned:
    """A run with notes left out, as the session's players can play it.

    Parameters
    ----------
    kept, left_out
        Note indices of the run, its landing not counted, in order of time; the top note of a
        double stop.
    landing
        The note it leads to, which stays where it is; None where it just ends.
    onset_ticks
        Where each kept note begins, same order as `kept`: even steps between the beats.
    per_beat
        Most notes in a beat.
    ratio
        Time needed over time available at the session's level, at most 1.
    where
        'near the start', 'near the end' or 'spread over the run': where the notes are left out.
    """

    kept: tuple[int, ...]
    left_out: tuple[int, ...]
    landing: int | None
    onset_ticks: tuple[int, ...]
    per_beat: int
    ratio: float
    where: str


def thin_run(part: PlayedPart, passage: TightPassage) -> Thinned | None:
    """The fullest version of a run that these players can play.

    Parameters
    ----------
    passage
        A passage of the part that does not go as written.

    Returns
    -------
    None where leaving notes out is no help: a leap, repeated notes, a melody of up to four
    notes a beat, a figure that turns all the time, or more than 64 notes. First and last note,
    landing, notes on beats and turns always stay; the others stay in their order.
    """
    run = None if passage.is_leap else find_run(part, passage)
    return None if run is None else _thin(run, passage.ratio)


def suggest_thinning(part: PlayedPart, passage: TightPassage) -> str:
    """One sentence that says what to leave out, or what else to write; empty when nothing helps."""
    run = None if passage.is_leap else find_run(part, passage)
    if run is None:
        return ""
    ways = "; or ".join((*_keeping(run, passage), *_sliding(run, passage), *_sharing(run)))
    return f"{ways[0].upper()}{ways[1:]}." if ways else ""


def _thin(run: Run, ratio: float) -> Thinned | None:
    if _is_repetition(run) or run.per_beat < THINNING.least_per_beat:
        return None
    for per_beat, bias in _trials(run, ratio):
        kept = _chosen(run, per_beat, bias)
        if kept is None:
            return None
        if len(kept) == run.after - run.first:
            continue
        onset_ticks = _even_ticks(run, kept)
        thinner = ratio_of(as_played(run, *_with_landing(run, kept, onset_ticks)))
        if thinner <= _LIMIT:
            return _thinned(run, kept, onset_ticks, per_beat, thinner)
    return None


def _trials(run: Run, ratio: float) -> Iterator[tuple[int, int]]:
    """Notes a beat, and the end near which they stay, in the order in which they are worth trying.

    Losing the notes at the end that matters is worth it only for two notes more.
    """
    end = _end_that_matters(run)
    others = [bias for bias in (0, -end) if bias != end]
    fuller: int | None = None
    for per_beat in _candidates(run, ratio):
        yield per_beat, end
        if fuller is not None:
            yield from ((fuller, bias) for bias in others)
        fuller = per_beat
    if fuller is not None:
        yield from ((fuller, bias) for bias in others)


def _is_repetition(run: Run) -> bool:
    """Most notes repeat the one before: a matter of the bow, not of a run."""
    events = run.player.line.events[run.first : run.after]
    return 2 * sum(before == after for before, after in pairwise(events)) > len(events)


def _with_landing(run: Run, kept: list[int], onset_ticks: list[int]) -> tuple[list[int], list[int]]:
    if run.landing is None:
        return kept, onset_ticks
    return [*kept, run.landing], [*onset_ticks, int(run.ticks[run.landing])]


def _candidates(run: Run, ratio: float) -> list[int]:
    """Notes a beat worth trying, most first.

    A run within one beat in no simple group is a gesture that nobody counts, so any number will
    do.
    """
    written = round(run.per_beat)
    is_gesture = len(run.stretches) == 1 and written not in GROUPS
    counts = range(written - 1, GROUPS[-1] - 1, -1) if is_gesture else GROUPS
    # Notes left out make the steps between the others wider, never narrower, so hardly more than
    # the ratio allows will fit; what is tried is decided by the search.
    most = min(_MARGIN * run.per_beat / ratio, run.per_beat - 0.5)
    return [count for count in counts if count <= most]


def _end_that_matters(run: Run) -> int:
    """1 where a gesture leads to a beat: what is near the landing stays; -1 where it leaves one.

    0 for a run of several beats, which loses as much in each.
    """
    if len(run.stretches) > 1:
        return 0
    return 1 if run.landing is not None and run.is_on_beat(run.landing) else -1


def _chosen(run: Run, per_beat: int, bias: int) -> list[int] | None:
    """Events of the run to keep; None where those that must stay are more."""
    must = {*run.turns, *(() if run.landing is not None else (run.last,))}
    kept: list[int] = []
    for stretch in run.stretches:
        slots = max(int(per_beat * stretch.beats + _SLACK), 1)
        if stretch.after - stretch.first <= slots:
            kept += range(stretch.first, stretch.after)
            continue
        picked = _best_subset(run, stretch, slots, must, bias)
        if picked is None:
            return None
        kept += picked
    return kept


def _best_subset(
    run: Run, stretch: Stretch, size: int, must: set[int], bias: int
) -> list[int] | None:
    """The `size` events of a stretch, its first among them, without which least is missed."""
    left, right = stretch.first, stretch.after
    worth = _worth(run, left, right)
    share = (right - left) / size
    # For each event that may be the last one kept so far: points, and the events kept.
    best: dict[int, tuple[float, list[int]]] = {left: (0.0, [left])}
    for count in range(1, size):
        following: dict[int, tuple[float, list[int]]] = {}
        for event in range(left + count, right - size + count + 1):
            ways = [
                (points + _step_points(run, before, event, bias), way)
                for before, (points, way) in best.items()
                if before < event and must.isdisjoint(range(before + 1, event))
            ]
            if ways:
                points, way = max(ways, key=lambda item: item[0])
                off = 0.0 if bias else event - left - count * share
                points += worth[event] - THINNING.uneven * off * off
                following[event] = (points, [*way, event])
        best = following
    ends = [
        (points + _step_points(run, last, right, bias), way)
        for last, (points, way) in best.items()
        if must.isdisjoint(range(last + 1, right))
    ]
    return max(ends, key=lambda item: item[0])[1] if ends else None


def _worth(run: Run, left: int, right: int) -> dict[int, float]:
    scale = _scale_of(run.pitches[run.first : run.last + 1])
    worth = {}
    for event in range(left, right):
        is_new = event == 0 or run.pitches[event] != run.pitches[event - 1]
        worth[event] = (
            THINNING.half_beat * run.is_on_beat(event, parts=2)
            + THINNING.scale_tone * (is_new and int(run.pitches[event]) % 12 in scale)
            + THINNING.approach * (event == run.after - 1)
        )
    return worth


def _step_points(run: Run, before: int, after: int, bias: int) -> float:
    skipped = after - before - 1
    if not skipped:
        return THINNING.equal_step
    through = ((before + after) / 2 - run.first) / max(run.after - run.first, 1)
    nearness = 1 + bias * (through - 0.5)
    return -THINNING.skipped * skipped * skipped * nearness


_MAJOR, _HARMONIC_MINOR = (0, 2, 4, 5, 7, 9, 11), (0, 2, 3, 5, 7, 8, 11)


def _scale_of(pitches: NDArray[np.int64]) -> frozenset[int]:
    """The scale that holds most of the notes; of equally good ones all tones count.

    A harmonic minor scale only where no major one, which natural minor shares, holds as many.
    """
    classes = (pitches % 12).tolist()
    major, minor = (
        [frozenset((tonic + step) % 12 for step in steps) for tonic in range(12)]
        for steps in (_MAJOR, _HARMONIC_MINOR)
    )
    held = {scale: sum(tone in scale for tone in classes) for scale in (*major, *minor)}
    most = max(held.values())
    best = [scale for scale in major if held[scale] == most] or [
        scale for scale in minor if held[scale] == most
    ]
    return frozenset.union(*best)


def _even_ticks(run: Run, kept: list[int]) -> list[int]:
    """Kept notes of a stretch begin at even steps; where none went, they stay."""
    ticks: list[int] = []
    for stretch in run.stretches:
        events = [event for event in kept if stretch.first <= event < stretch.after]
        if len(events) == stretch.after - stretch.first:
            ticks += [int(run.ticks[event]) for event in events]
            continue
        step = stretch.ticks / len(events)
        ticks += [round(stretch.onset_ticks + place * step) for place in range(len(events))]
    return ticks


def _thinned(
    run: Run, kept: list[int], onset_ticks: list[int], per_beat: int, ratio: float
) -> Thinned:
    gone = [event for event in range(run.first, run.after) if event not in set(kept)]
    middle = (float(np.mean(gone)) - run.first) / max(run.after - 1 - run.first, 1)
    where = "near the start" if middle < _NEAR else "near the end" if middle > 1 - _NEAR else ""
    return Thinned(
        kept=tuple(run.top_note(event) for event in kept),
        left_out=tuple(run.top_note(event) for event in gone),
        landing=None if run.landing is None else run.top_note(run.landing),
        onset_ticks=tuple(onset_ticks),
        per_beat=per_beat,
        ratio=ratio,
        where=where or "spread over the run",
    )


def _keeping(run: Run, passage: TightPassage) -> Iterator[str]:
    thinned = _thin(run, passage.ratio)
    if thinned is None:
        return
    name = {run.top_note(event): run.name(event) for event in range(run.first, run.last + 1)}
    count, gone = len(thinned.kept), len(thinned.left_out)
    before = "" if thinned.landing is None else f" before {name[thinned.landing]}"
    head = f"keep {count} of the {count + gone} notes{before}, evenly spaced"
    every = [name[note] for note in (*thinned.kept, *thinned.left_out)]
    # A name that comes twice does not say which of the two.
    is_clear = all(every.count(name[note]) == 1 for note in thinned.left_out)
    if gone <= min(count, _NAMED) and is_clear:
        where = f" {thinned.where}" if gone > 1 else ""
        yield f"{head}: leave out {_listed(name, thinned.left_out)}{where}"
    elif count <= _NAMED:
        yield f"{head}: {_listed(name, thinned.kept)}"
    else:
        with_turns = " and every turn" if run.turns else ""
        most = f"at most {thinned.per_beat} to a beat"
        yield f"{head}: {most}, the first of each beat{with_turns} among them"


def _listed(name: Mapping[int, str], notes: Sequence[int]) -> str:
    first = ", ".join(name[note] for note in notes[:-1])
    return f"{first} and {name[notes[-1]]}" if first else name[notes[-1]]


def _sliding(run: Run, passage: TightPassage) -> Iterator[str]:
    """A run that goes one way on one string, so fast or so close that it is heard as a slide."""
    pitches = run.pitches[run.first : run.last + 1]
    steps = np.diff(pitches)
    if not (bool((steps > 0).all()) or bool((steps < 0).all())):
        return
    is_chromatic = bool((np.abs(steps) == 1).mean() >= THINNING.chromatic_share)
    if not is_chromatic and passage.notes_per_s <= THINNING.glissando_notes_per_s:
        return
    board = run.player.board
    for string, open_pitch in enumerate(board.open_strings):
        highest = open_pitch + SEMITONES_PER_OCTAVE * (2 if string == 0 else 1)
        # No finger slides out of an open string, and high up only the top string is at hand.
        if open_pitch < int(pitches.min()) and int(pitches.max()) <= highest:
            ends = f"from {run.name(run.first)} to {run.name(run.last)}"
            yield f"write a glissando {ends} on the {board.string_letter(string)} string"
            return


def _sharing(run: Run) -> Iterator[str]:
    """Two groups of desks that take the beats in turn, where the search says that it helps."""
    if run.part.players < THINNING.desks or len(run.stretches) < 2:
        return
    for turn in (0, 1):
        # Each group plays on to the first note of the next beat and hands the run over there.
        mine = {
            event
            for stretch in run.stretches[turn::2]
            for event in range(stretch.first, min(stretch.after, run.last) + 1)
        }
        if ratio_of(as_played(run, sorted(mine), run.ticks[sorted(mine)].tolist())) > _LIMIT:
            return
    yield "let two groups of desks take the beats in turn"
