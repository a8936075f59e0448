"""The tempo question: how fast a cue goes, and what breaks or opens at another tempo."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.headroom import time_factor
from mockcheck.model.columns import stretches
from mockcheck.model.played import PlayedPart, PlayedScore
from mockcheck.model.session import Session
from mockcheck.plan._places import (
    Place,
    in_order,
    passages_as_places,
    places_between,
    rate_places,
    spots,
)
from mockcheck.plan._windows import Windows, windows_of

USUAL_STEPS = (0.80, 0.90, 0.95, 1.02, 1.05, 1.10, 1.15, 1.20)
"""Shares of the written tempo that are asked for when nobody names any."""

_ANY_TEMPO = 64.0
"""Times the written tempo; nothing with two notes goes at that."""
_SAME = 1e-9
_NEARLY = 1.1
_LEAST_RATIO = 1e-6


@dataclass(frozen=True)
class Step:
    """What another tempo changes.

    Parameters
    ----------
    factor
        Share of the written tempo.
    bpm
        What the first tempo becomes, quarter notes a minute; None where the file counts frames.
    breaks
        Spots that go as written, and at every smaller step asked for, and not here.
    opens
        Spots that are too fast as written and go here.
    too_fast
        How many spots do not go at this tempo.
    """

    factor: float
    bpm: float | None
    breaks: tuple[Place, ...]
    opens: tuple[Place, ...]
    too_fast: int


@dataclass(frozen=True)
class FastestTempo:
    """The fastest tempo at which everything goes, as a share of the written one.

    `level` is the name of the level; `low` and `high` are the ends of what is known about players;
    `decided_by` is the place that breaks first above it.
    """

    level: str
    factor: float
    low: float
    high: float
    decided_by: Place


@dataclass(frozen=True)
class Curve:
    """How tight one part is all along, movement by movement.

    `onset_ticks` is where each movement begins; `headroom` is the fastest playable tempo over the
    written one there, at the session's level. Both have shape (events - 1,).
    """

    part: PlayedPart
    onset_ticks: NDArray[np.int64]
    headroom: NDArray[np.float64]


@dataclass(frozen=True)
class TempoAnswer:
    """Everything a report on the tempo needs.

    Parameters
    ----------
    played
        The score that was asked about.
    bpm
        First tempo as written, quarter notes a minute; None where the file counts frames.
    places
        Tightest first: all that is too fast as written or at a step, and at least one place of
        each part.
    fastest
        For each level, sight first and one that the brief names last; empty when nothing moves.
    rest
        How fast everything else goes at the session's level; None unless something is too fast
        as written.
    steps
        From the slowest to the fastest tempo asked for.
    curves
        One for each part that has strings of its own.
    not_judged
        Names of parts that stand for a whole body of strings.
    """

    played: PlayedScore
    bpm: float | None
    places: tuple[Place, ...]
    fastest: tuple[FastestTempo, ...]
    rest: FastestTempo | None
    steps: tuple[Step, ...]
    curves: tuple[Curve, ...]
    not_judged: tuple[str, ...]

    @property
    def too_fast(self) -> tuple[Place, ...]:
        """Spots that do not go as written, each with its tightest limit."""
        return tuple(spots(place for place in self.places if not place.plays_at(1.0)))


def answer_tempo(played: PlayedScore, factors: Sequence[float] = USUAL_STEPS) -> TempoAnswer:
    """How fast a cue goes at each level, and what each of some other tempos changes.

    Parameters
    ----------
    factors
        Shares of the written tempo, positive, in any order; all tempos of the file scale alike,
        and what is slurred, plucked or struck stays so.

    Returns
    -------
    Places too fast as written are the review's own, with the same headroom.

    Not modelled: that long notes need more bow at a slower tempo.
    """
    asked = sorted({factor for factor in factors if abs(factor - 1) > _SAME})
    fastest_asked = max([1.0, *asked])
    solved = [windows_of(part, fastest_asked) for part in played.parts]
    parts = [_PartQuestion.of(windows, fastest_asked) for windows in solved if windows is not None]
    written = [place for part in parts for place in part.written]
    # The review names the worst window of neighbours; where others do not go either, they count.
    written += [place for part in parts for place in _new_places(part.windows, 1.0, written)]
    faster, known = _faster_steps(parts, [factor for factor in asked if factor > 1], written)
    slower = [_slower_step(factor, written) for factor in asked if factor < 1]
    bpm = played.score.tempo_map.bpm_at(0)
    steps = [replace(step, bpm=bpm and bpm * step.factor) for step in (*slower, *faster)]
    fastest = [
        _as_tempo([place for part in parts for place in part.places(session)], session.level_name)
        for session in played.session.at_each_level()
    ]
    return TempoAnswer(
        played=played,
        bpm=bpm,
        places=tuple(in_order((*known, *_quiet_parts(parts, known)))),
        fastest=tuple(tempo for tempo in fastest if tempo is not None),
        rest=_rest(parts, written, played.session.level_name) if written else None,
        steps=tuple(steps),
        curves=tuple(_curve(part.windows) for part in parts),
        not_judged=tuple(part.name for part in played.parts if part.instrument.is_ensemble),
    )


@dataclass(frozen=True)
class _PartQuestion:
    """One part: its windows and the tightest of them, what is too fast as written, and its rates.

    `rates` are places that a rate makes too fast at a faster tempo only.
    """

    windows: Windows
    tightest: Place | None
    written: tuple[Place, ...]
    rates: tuple[Place, ...]

    @classmethod
    def of(cls, windows: Windows, fastest: float) -> _PartQuestion:
        part = windows.part
        written = (*passages_as_places(part, 1.0), *rate_places(part, 1.0))
        rates = tuple(_rates(part, written, fastest))
        return cls(windows, windows.tightest(), written, rates)

    @property
    def part(self) -> PlayedPart:
        return self.windows.part

    def places(self, session: Session) -> list[Place]:
        """What may decide how fast the players of a session go, with the headroom they have."""
        # Players of another level take longer or shorter for everything alike.
        share = time_factor(self.part.session) / time_factor(session)
        places = [] if self.tightest is None else [self.tightest.scaled(share)]
        if self.rates or any(place.is_rate for place in self.written):
            places += _rates(replace(self.part, session=session))
        return places


def _rates(part: PlayedPart, written: Sequence[Place] = (), fastest: float = 0.0) -> list[Place]:
    """Where a rate limits the tempo: all up to `fastest`, and the tightest wherever it lies.

    Where a rate is too high as written, the review's own place stands for it.
    """

    def unknown(factor: float) -> list[Place]:
        return [
            place
            for place in rate_places(part, factor)
            if not place.touches(other for other in written if other.check == place.check)
        ]

    somewhere = unknown(_ANY_TEMPO)
    if not somewhere:
        return []
    # Checks round what they print; close to the limit that does no harm.
    return unknown(max(fastest, _NEARLY * min(place.headroom for place in somewhere)))


def _faster_steps(
    parts: Sequence[_PartQuestion], factors: Sequence[float], written: Sequence[Place]
) -> tuple[list[Step], list[Place]]:
    known = list(written)
    steps = []
    before = 1.0
    for factor in factors:
        new: list[Place] = []
        for part in parts:
            new += [place for place in part.rates if not place.plays_at(factor)]
            new += _new_places(part.windows, factor, known)
        # It went at the step before, so its limit lies between the two.
        breaks = [
            replace(place, headroom=max(place.headroom, before))
            for place in spots(place for place in new if not place.touches(known))
        ]
        before = factor
        known += breaks
        steps.append(Step(factor, None, tuple(breaks), (), len(spots(known))))
    return steps, known


def _new_places(windows: Windows, factor: float, known: Sequence[Place]) -> list[Place]:
    """Too fast at `factor` times the tempo, without a note of any place known before."""
    gone = _notes_of(known, windows.part)
    found: list[Place] = []
    for first, after in stretches(windows.covered(factor, gone)):
        notes = windows.notes_of(first, after)
        near = places_between(windows.part, int(notes[0]), int(notes[-1]) + 1, factor, gone)
        found += [place for place in near if not place.plays_at(factor)]
    # What lies beside the places just found shows only once they are out of the way.
    return found + _new_places(windows, factor, [*known, *found]) if found else []


def _notes_of(places: Iterable[Place], part: PlayedPart) -> frozenset[int]:
    own = [place.note_indices for place in places if place.part == part.name]
    return frozenset(note for notes in own for note in notes)


def _slower_step(factor: float, written: Sequence[Place]) -> Step:
    every = spots(written)
    opens = tuple(place for place in every if place.plays_at(factor))
    return Step(factor, None, (), opens, len(every) - len(opens))


def _quiet_parts(parts: Iterable[_PartQuestion], known: Sequence[Place]) -> list[Place]:
    """The tightest place of each part that no tempo asked for breaks."""
    busy = {place.part for place in known}
    quiet = [part for part in parts if part.part.name not in busy]
    offered = [part.places(part.part.session) for part in quiet]
    return [min(places, key=lambda place: place.headroom) for places in offered if places]


def _rest(
    parts: Iterable[_PartQuestion], written: Sequence[Place], level: str
) -> FastestTempo | None:
    """The fastest tempo once everything that is too fast as written has been rewritten."""
    places: list[Place] = []
    for part in parts:
        places += [place for place in part.rates if not place.touches(written)]
        place = part.windows.tightest(_notes_of(written, part.part))
        places += [] if place is None else [place]
    return _as_tempo(places, level)


def _as_tempo(places: Sequence[Place], level: str) -> FastestTempo | None:
    if not places:
        return None
    place = min(places, key=lambda place: place.headroom)
    # A place that is less certain may break even before the one that decides.
    low = min(other.headroom_low for other in places)
    high = min(other.headroom_high for other in places)
    return FastestTempo(level, place.headroom, low, high, place)


def _curve(windows: Windows) -> Curve:
    newest = [notes[-1] for notes in windows.player.notes[:-1]]
    ratio = np.maximum(windows.move_ratio(), _LEAST_RATIO)
    return Curve(windows.part, windows.part.notes.onset_ticks[newest], 1 / ratio)
