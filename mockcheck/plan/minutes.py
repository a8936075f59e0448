"""How long cues take to record, as a range, and in which order with which breaks.

Source: common practice (three to five finished minutes an hour are safe, five to six with fast
players and well prepared parts; once through, a take, perhaps a safety take). No published model
was found. Held against: 3 finished minutes an hour in an advertising contract, and a report of 2016
in which seven strings and piano took 90 minutes for 4 minutes in seven cues; quavers for three
sections of seven make that 40 to 80 minutes here, so short cues with much talk take longer.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.model.played import PlayedScore
from mockcheck.model.session_time import SessionTime
from mockcheck.plan.rehearsal import Rehearsal

_LEAST_OF_AN_HOUR = 0.5
"""A break comes before a cue that does not fit only when so much of the hour has been played."""


@dataclass(frozen=True)
class Demands:
    """What of a cue decides how long it takes.

    Parameters
    ----------
    music_s
        From the first onset to the last release, s.
    loads
        Reading load of each part in each bar, 0 to 1, shape (parts, bars).
    spots, passes_s
        How many spots are rehearsed alone, and how long all their passes take, s.
    """

    music_s: float
    loads: NDArray[np.float64]
    spots: int
    passes_s: float


@dataclass(frozen=True)
class Estimate:
    """How long one cue takes, s, and what of it goes where as a rule."""

    quick_s: float
    usual_s: float
    slow_s: float
    items: tuple[tuple[str, float], ...]


@dataclass(frozen=True)
class Cue:
    """One file of a session."""

    rehearsal: Rehearsal
    demands: Demands
    estimate: Estimate
    assumed: SessionTime

    @property
    def file(self) -> str:
        """Its name."""
        return self.rehearsal.review.played.score.file

    @property
    def players(self) -> int:
        """How many have to be there."""
        return sum(part.players for part in self.rehearsal.review.played.parts)

    def per_hour(self, seconds: float) -> float:
        """Finished minutes of music in a studio hour, break included, at such a length."""
        hour_min = self.assumed.hour_min + self.assumed.break_min
        return self.assumed.hour_min / hour_min * 60 * self.demands.music_s / max(seconds, 1e-9)


@dataclass(frozen=True)
class Entry:
    """One cue in the session: when it begins, s from the start, and what comes in between.

    `is_after_break` where a break comes before it; `breaks_inside` is how many fall within it.
    """

    cue: Cue
    begins_s: float
    is_after_break: bool
    breaks_inside: int


@dataclass(frozen=True)
class SessionPlan:
    """Several cues in order.

    Parameters
    ----------
    entries
        In order of recording.
    quick_s, usual_s, slow_s
        The whole session, set-up and breaks included.
    risk
        The cue of which it is least certain how long it takes.
    """

    entries: tuple[Entry, ...]
    quick_s: float
    usual_s: float
    slow_s: float
    risk: Cue


def cue_of(rehearsal: Rehearsal, assumed: SessionTime) -> Cue:
    """One cue with its estimate."""
    demands = demands_of(rehearsal)
    return Cue(rehearsal, demands, estimate(demands, assumed), assumed)


def demands_of(rehearsal: Rehearsal) -> Demands:
    """What of a cue decides how long it takes; parts nobody could read weigh nothing."""
    played = rehearsal.review.played
    bars = played.score.bar_count or 0
    loads = np.zeros((len(played.parts), bars))
    for row, part in enumerate(played.parts):
        if part.reading is not None:
            inside = part.reading.bar_index < bars
            loads[row, part.reading.bar_index[inside]] = part.reading.load[inside]
    return Demands(_music_s(played), loads, len(rehearsal.exercises), rehearsal.seconds)


def _music_s(played: PlayedScore) -> float:
    notes = [part.notes for part in played.parts if len(part.notes)]
    begins = min((float(own.onset_s.min()) for own in notes), default=0.0)
    return max((float(own.release_s.max()) for own in notes), default=0.0) - begins


def estimate(demands: Demands, assumed: SessionTime) -> Estimate:
    """How long a cue takes if all goes well, as a rule, and if it goes slowly.

    Talk, once through, the spots alone, takes, a repair for each slip, and a take heard back. A
    bar slips with a chance that grows with the square of its reading loads, all parts taken
    together; several parts that slip in one bar are repaired at once. Nothing that makes the music
    longer or heavier makes the estimate shorter; neither do more takes or slower players.

    Not modelled: that what was rehearsed slips less, that players tire, and that a spot of many
    bars is cheaper than several of few.
    """
    slips = _slips(demands.loads, assumed)
    music_s = demands.music_s
    take_s = music_s + assumed.reset_s
    listening_s = assumed.listen_back * music_s
    before = (
        ("talk and parts", assumed.talk_s),
        ("once through", assumed.read_through * music_s),
        ("spots alone", demands.passes_s + demands.spots * assumed.spot_talk_s),
    )
    before_s = sum(seconds for _, seconds in before)
    usual = (
        ("takes", assumed.takes_usual * take_s),
        ("repairs of slips", slips * assumed.repair_s),
        ("hearing a take back", listening_s),
    )
    quick_repairs_s = assumed.slips_quick * slips * assumed.repair_s
    slow_repairs_s = assumed.slips_slow * slips * assumed.repair_s
    return Estimate(
        # Pressed for time nobody hears a whole take back.
        quick_s=before_s + assumed.takes_quick * take_s + quick_repairs_s,
        usual_s=before_s + sum(seconds for _, seconds in usual),
        slow_s=before_s + assumed.takes_slow * take_s + slow_repairs_s + listening_s,
        items=(*before, *usual),
    )


def _slips(loads: NDArray[np.float64], assumed: SessionTime) -> float:
    """Bars that are expected to be repaired."""
    per_bar = assumed.slips_in_heaviest_bar * np.square(loads).sum(axis=0)
    return float((1 - np.exp(-per_bar)).sum())


def plan_session(cues: Sequence[Cue], assumed: SessionTime) -> SessionPlan:
    """An order for several cues, at least one, and where the breaks come.

    The fullest first, so that players who have finished can go; of those with as many players the
    riskiest first, while everybody is fresh. A break comes when its hour has been played: before a
    cue that fits into an hour but not into what is left of this one, unless less than half of it
    has gone; otherwise between two takes.
    """
    order = sorted(cues, key=lambda cue: (-cue.players, -_doubt_s(cue), cue.file))
    entries, usual_s = _timetable(order, [cue.estimate.usual_s for cue in order], assumed)
    _, quick_s = _timetable(order, [cue.estimate.quick_s for cue in order], assumed)
    _, slow_s = _timetable(order, [cue.estimate.slow_s for cue in order], assumed)
    return SessionPlan(entries, quick_s, usual_s, slow_s, max(order, key=_doubt_s))


def _doubt_s(cue: Cue) -> float:
    return cue.estimate.slow_s - cue.estimate.quick_s


def _timetable(
    cues: Sequence[Cue], lengths_s: Sequence[float], assumed: SessionTime
) -> tuple[tuple[Entry, ...], float]:
    """When each cue begins, and when the last one ends."""
    hour_s, break_s = 60 * assumed.hour_min, 60 * assumed.break_min
    now_s = played_s = 60 * assumed.set_up_min
    entries: list[Entry] = []
    for cue, length_s in zip(cues, lengths_s, strict=True):
        is_better_alone = played_s + length_s > hour_s >= length_s
        is_late = is_better_alone and played_s >= _LEAST_OF_AN_HOUR * hour_s
        is_after_break = bool(entries) and (is_late or played_s >= hour_s)
        if is_after_break:
            now_s, played_s = now_s + break_s, 0.0
        # A break that would fall on the very end of a cue comes before the next one.
        inside = max(int(np.ceil((played_s + length_s) / hour_s - 1e-9)) - 1, 0)
        entries.append(Entry(cue, now_s, is_after_break, inside))
        now_s += length_s + inside * break_s
        played_s += length_s - inside * hour_s
    return tuple(entries), now_s
