"""Places that limit the tempo, as the review would find them at any tempo.

Playing a cue k times faster is the same as playing it as written with hands that need k times
longer. So nothing is retimed: what is written stays, and the players' times and rates are scaled.
Every place then scales exactly, and at the written tempo it is the review's own.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from mockcheck.checks._registry import all_checks
from mockcheck.infer.excerpts import excerpt, onset_of_notes
from mockcheck.infer.headroom import with_headroom
from mockcheck.model.played import PlayedPart
from mockcheck.model.time import Location
from mockcheck.params import Params
from mockcheck.playing.times import MotionTimes

RUN, LEAP = "run-too-fast", "leap-too-fast"
"""The checks that read the search over fingerings."""

_RATE_UNIT = "notes/s"
_CONTEXT_ONSETS = 6


@dataclass(frozen=True)
class Place:
    """A stretch of one part and how much faster, or slower, it could go.

    Parameters
    ----------
    check
        Id of the check that reports it at a tempo at which it is too fast.
    part, track
        Name of the part, and its row in the track list.
    note_indices
        Notes of the part, in order of time.
    start, end
        First and last onset.
    headroom, headroom_low, headroom_high
        Fastest playable tempo over the written one at the session's level, and the ends of what
        is known about players; all three are equal where only a rate is known.
    written_bpm
        Quarter notes a minute there; None where the file counts frames.
    binding
        What decides, in words.
    """

    check: str
    part: str
    track: int
    note_indices: tuple[int, ...]
    start: Location
    end: Location
    headroom: float
    headroom_low: float
    headroom_high: float
    written_bpm: float | None
    binding: str

    @property
    def is_rate(self) -> bool:
        """Whether a rate decides, as of plucking, and not the search over fingerings."""
        return self.check not in (RUN, LEAP)

    def plays_at(self, factor: float) -> bool:
        """Whether it goes at this share of the written tempo; exactly on the limit it does."""
        return factor <= self.headroom * (1 + 1e-9)

    def scaled(self, share: float) -> Place:
        """The same place for players who are that many times as fast."""
        return replace(
            self,
            headroom=self.headroom * share,
            headroom_low=self.headroom_low * share,
            headroom_high=self.headroom_high * share,
        )

    def touches(self, others: Iterable[Place]) -> bool:
        """Whether it shares a note with one of the other places."""
        return any(
            other.part == self.part and not set(other.note_indices).isdisjoint(self.note_indices)
            for other in others
        )


def spots(places: Iterable[Place]) -> list[Place]:
    """Each spot once, tightest first: where two limits hold for the same notes, the tighter one."""
    found: list[Place] = []
    for place in in_order(places):
        if not place.touches(found):
            found.append(place)
    return found


def in_order(places: Iterable[Place]) -> list[Place]:
    """Tightest first, then in order of time and track."""
    return sorted(places, key=lambda p: (p.headroom, p.start.time_s, p.track, p.check))


def slower_times(factor: float) -> MotionTimes:
    """Hands and bows that need `factor` times as long."""
    times = MotionTimes()
    values = times.model_dump()
    return times.model_copy(
        update={name: value * factor for name, value in values.items() if name.endswith("_s")}
    )


def passages_as_places(part: PlayedPart, factor: float) -> Iterator[Place]:
    """The tight passages of a part that was searched with hands `factor` times as slow."""
    for passage in part.passages:
        rows = np.array(passage.note_indices, np.int64)
        ratios = passage.ratio, passage.ratio_high, passage.ratio_low
        nominal, low, high = (factor / ratio for ratio in ratios)
        item = LEAP if passage.is_leap else RUN
        yield _place(part, item, rows, (nominal, low, high), passage.binding)


def places_between(
    part: PlayedPart, first: int, after: int, factor: float, gone: Collection[int] = ()
) -> list[Place]:
    """What is too fast at `factor` times the tempo among the notes from `first` to `after`.

    A few onsets on either side are looked at as well, since the hand comes from there; those of
    notes in `gone` are not. Only places with a note among those asked about are returned.
    """
    onset = onset_of_notes(part)
    inside = onset[first:after]
    is_near = (onset >= inside.min() - _CONTEXT_ONSETS) & (onset <= inside.max() + _CONTEXT_ONSETS)
    is_gone = np.isin(onset, onset[sorted(gone)]) if gone else np.zeros(len(onset), np.bool_)
    rows = np.flatnonzero(is_near & ~is_gone)
    searched = with_headroom(excerpt(part, rows), slower_times(factor))
    found = [
        replace(place, note_indices=tuple(rows[list(place.note_indices)].tolist()))
        for place in passages_as_places(searched, factor)
    ]
    asked = range(first, after)
    return [place for place in found if any(note in asked for note in place.note_indices)]


def rate_places(part: PlayedPart, factor: float) -> Iterator[Place]:
    """What checks of rates, as of plucking, report at `factor` times the tempo."""
    for item in all_checks().values():
        if item.family != "speed" or (item.needs_strings and part.instrument.is_ensemble):
            continue
        if item.id in (RUN, LEAP):
            continue
        own = part.session.check_params.get(item.id, {})
        params = _lower_rates(item.params(**own), factor)
        for observed in item.find(part, params):
            evidence = next((e for e in observed.evidence if e.unit == _RATE_UNIT), None)
            if evidence is not None and evidence.measured > 0:
                headroom = factor * evidence.limit / evidence.measured
                rows = np.array(observed.note_indices, np.int64)
                words = (
                    f"{evidence.measured:.1f} {evidence.quantity}; these players manage"
                    f" {evidence.limit * factor:.1f}"
                )
                yield _place(part, item.id, rows, (headroom,) * 3, words)


def _lower_rates(params: Params, factor: float) -> Params:
    """The same limits for a time that runs `factor` times as fast: fewer notes a second."""
    rates = {
        name: getattr(params, name) / factor
        for name, field in type(params).model_fields.items()
        if isinstance(field.json_schema_extra, dict)
        and field.json_schema_extra.get("unit") == _RATE_UNIT
    }
    return params.model_copy(update=rates)


def _place(
    part: PlayedPart,
    item: str,
    rows: NDArray[np.int64],
    headroom: tuple[float, float, float],
    binding: str,
) -> Place:
    onsets = part.notes.onset_ticks[rows]
    first, last = int(onsets.min()), int(onsets.max())
    return Place(
        check=item,
        part=part.name,
        track=int(part.track[rows[0]]),
        note_indices=tuple(rows.tolist()),
        start=part.locate_onset(first),
        end=part.locate_onset(last),
        headroom=headroom[0],
        headroom_low=headroom[1],
        headroom_high=headroom[2],
        written_bpm=part.timeline.tempo.bpm_at(first),
        binding=binding,
    )
