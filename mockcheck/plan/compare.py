"""What became of the findings of an old file in a new one: fixed, still there, or new."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from mockcheck.model.finding import Finding, Severity
from mockcheck.model.identity import FindingId, read_finding_id
from mockcheck.model.played import PlayedPart
from mockcheck.model.review import Review
from mockcheck.model.time import Location
from mockcheck.plan.alignment import AlignedPart, Alignment, align

_SAME_FROM = 0.5
"""Share of all notes of two findings that they must have in common to be the same finding."""
_LEAST_CHANGE = 0.25
"""A place that lies off by less, in quarter notes, has not moved."""
_ONE_CHANGE = 4.0
"""Changes within as many quarter notes are told as one."""
_UNSURE = 0.9
"""Weight of notes where bars came in or went, against those in music that runs on unchanged."""


@dataclass(frozen=True)
class Kept:
    """A finding that is still there, as the old file and as the new one has it."""

    old: Finding
    new: Finding

    @property
    def moved_bars(self) -> int:
        """Bars later (or, below 0, earlier) than it was; 0 where there are no bars."""
        if self.old.start.bar is None or self.new.start.bar is None:
            return 0
        return self.new.start.bar - self.old.start.bar

    @property
    def has_moved(self) -> bool:
        """Whether it begins at another bar, or at another beat of it."""
        return (self.old.start.bar, self.old.start.beat) != (
            self.new.start.bar,
            self.new.start.beat,
        )


@dataclass(frozen=True)
class LengthChange:
    """Music that came in or went before a place of the old file.

    `bars` is negative where music went, and a fraction where it is no whole number of bars; the
    number is the net one where something came in for something else. None without bars.
    """

    before: Location
    bars: float | None
    seconds: float


@dataclass(frozen=True)
class Comparison:
    """Two reviews held against each other.

    Parameters
    ----------
    fixed
        Findings of the old review that are gone.
    kept
        Findings that are still there.
    new
        Findings of the new review that the old one did not have.
    old_review, new_review
        The reviews.
    alignment
        How the music of the two files was tied together.

    Findings that a brief accepts are in none of the three; `accepted` has those of the new review.
    """

    old_review: Review
    new_review: Review
    alignment: Alignment
    fixed: tuple[Finding, ...]
    kept: tuple[Kept, ...]
    new: tuple[Finding, ...]
    accepted: tuple[Finding, ...]

    @property
    def renamed(self) -> tuple[tuple[str, str], ...]:
        """Parts that go by another name now, old name first."""
        pairs = ((part.old.name, part.new.name) for part in self.alignment.parts)
        return tuple((old, new) for old, new in pairs if old != new)

    @cached_property
    def left_out(self) -> tuple[str, ...]:
        """Parts of the old file that the new one no longer has."""
        still = {part.old.name for part in self.alignment.parts}
        return tuple(p.name for p in self.old_review.played.parts if p.name not in still)

    @cached_property
    def added(self) -> tuple[str, ...]:
        """Parts that the old file did not have."""
        known = {part.new.name for part in self.alignment.parts}
        return tuple(p.name for p in self.new_review.played.parts if p.name not in known)

    @cached_property
    def length_changes(self) -> tuple[LengthChange, ...]:
        """Where music came in or went, in order, as far as all parts agree."""
        return tuple(_length_changes(self.alignment))

    def has_new(self, at_least: Severity = Severity.REMARK) -> bool:
        """Whether anything of that severity or worse is new."""
        return any(finding.severity >= at_least for finding in self.new)


def compare_reviews(old: Review, new: Review) -> Comparison:
    """Hold a new review against an old one.

    A finding is the same when the same check names mostly the same notes of the same part, at the
    place where the music of the old file lies in the new one; failing that, when its own notes and
    those on one side are the same somewhere else in the part.
    """
    alignment = align(old.played, new.played)
    pairs = _pairs(old.findings, new.findings, alignment)
    kept = [(old.findings[row], new.findings[column]) for row, column in sorted(pairs.items())]
    is_kept = set(pairs.values())
    return Comparison(
        old_review=old,
        new_review=new,
        alignment=alignment,
        fixed=tuple(
            finding
            for row, finding in enumerate(old.findings)
            if row not in pairs and finding.accepted is None
        ),
        kept=tuple(Kept(*pair) for pair in kept if pair[1].accepted is None),
        new=tuple(
            finding
            for column, finding in enumerate(new.findings)
            if column not in is_kept and finding.accepted is None
        ),
        accepted=tuple(finding for finding in new.findings if finding.accepted is not None),
    )


def _pairs(old: Sequence[Finding], new: Sequence[Finding], alignment: Alignment) -> dict[int, int]:
    """Row of the new finding for every old one that is still there; each is used once."""
    pairs: dict[int, int] = {}
    used: set[int] = set()
    for part in alignment.parts:
        for find in (_at_their_place, _elsewhere):
            here = {r: f for r, f in enumerate(old) if r not in pairs and f.part == part.old.name}
            there = {c: f for c, f in enumerate(new) if c not in used and f.part == part.new.name}
            for _, row, column in sorted(find(here, there, part)):
                if row not in pairs and column not in used:
                    pairs[row] = column
                    used.add(column)
    return pairs


def _at_their_place(
    old: Mapping[int, Finding], new: Mapping[int, Finding], part: AlignedPart
) -> Iterator[tuple[float, int, int]]:
    """Pairs of one check on mostly the same notes, the better the lower the first number."""
    rows_of_check: dict[str, list[tuple[int, int, int]]] = defaultdict(list)
    for column, finding in new.items():
        rows_of_check[finding.check].append((column, *_notes_of(finding, part.new)))
    there = {check: np.array(rows).T for check, rows in rows_of_check.items()}
    for row, finding in old.items():
        if finding.check not in there:
            continue
        notes = slice(*_notes_of(finding, part.old))
        now = np.unique(part.same_note[notes])
        trust = _UNSURE + (1 - _UNSURE) * float(np.mean(part.is_sure[notes]))
        columns, first, after = there[finding.check]
        common = np.searchsorted(now, after) - np.searchsorted(now, first)
        share = common / (notes.stop - notes.start + after - first - common)
        for hit in np.flatnonzero(share >= _SAME_FROM).tolist():
            yield -float(share[hit]) * trust, row, int(columns[hit])


def _notes_of(finding: Finding, part: PlayedPart) -> tuple[int, int]:
    """First and past-the-last note that begin between the ends of a finding.

    Where none begins there, the one that sounds: a slide can lie between two onsets.
    """
    onsets = part.notes.onset_ticks
    first = int(np.searchsorted(onsets, finding.start.tick))
    after = int(np.searchsorted(onsets, max(finding.end.tick, finding.start.tick + 1)))
    return (first, after) if first < after else (max(first - 1, 0), max(first, 1))


def _elsewhere(
    old: Mapping[int, Finding], new: Mapping[int, Finding], _part: AlignedPart
) -> Iterator[tuple[float, int, int]]:
    """Pairs with the same music somewhere else in the part."""
    there: dict[tuple[str, str], list[tuple[int, FindingId]]] = defaultdict(list)
    for column, finding in new.items():
        name = read_finding_id(finding.id)
        there[name.check, name.music].append((column, name))
    for row, finding in old.items():
        name = read_finding_id(finding.id)
        for column, other in there[name.check, name.music]:
            if name.is_same_music(other):
                yield float(name.turn != other.turn), row, column


def _length_changes(alignment: Alignment) -> Iterator[LengthChange]:
    way = alignment.whole
    if not alignment.parts:
        return
    part = alignment.parts[0].old
    places = np.concatenate([[0.0], way.old])
    by = np.diff(np.concatenate([[0.0], way.new])) - way.stretch * np.diff(places)
    rows = np.flatnonzero(np.abs(by) >= _LEAST_CHANGE)
    groups = np.split(rows, np.flatnonzero(np.diff(way.old[rows]) > _ONE_CHANGE) + 1)
    for group in groups:
        quarters = float(by[group].sum()) / way.stretch if len(group) else 0.0
        if abs(quarters) >= _LEAST_CHANGE:
            yield _length_change(part, float(way.old[group[-1]]), quarters)


def _length_change(part: PlayedPart, place: float, quarters: float) -> LengthChange:
    meter, tempo = part.timeline.meter, part.timeline.tempo
    if meter is None:
        tick = int(tempo.ticks_at(np.array([place]))[0])
        return LengthChange(part.locate_onset(tick), None, quarters)
    tick = round(place * meter.ticks_per_quarter)
    piece = max(int(np.searchsorted(meter.ticks, tick, side="right")) - 1, 0)
    ticks = quarters * meter.ticks_per_quarter
    seconds = ticks * float(tempo.seconds_per_tick[np.searchsorted(tempo.ticks, tick, "right") - 1])
    bars = round(ticks / float(meter.bar_ticks[piece]), 3)
    return LengthChange(part.locate_onset(tick), bars, seconds)
