"""The spots worth isolating before a cue is recorded: whole phrases, for those who play them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from mockcheck.errors import UnreadableInput
from mockcheck.model.finding import Finding, Severity
from mockcheck.model.played import PlayedPart
from mockcheck.model.review import Review
from mockcheck.model.time import MeterMap
from mockcheck.params import Params, quantity
from mockcheck.plan._phrases import Phrases
from mockcheck.plan._sight import SightHeadroom, sight_headroom
from mockcheck.plan.heavy_bars import HeavyBar, heavy_bars

_PRACTISED = "-too-fast"
"""How the ids of checks end whose findings go away at a slower tempo."""
_PATTERNS = 2
"""The MIDI file format whose tracks have no bars in common."""


class SpotParams(Params):
    """How far a spot reaches."""

    joined_bars: float = quantity(
        1, unit="bars", low=0, high=8, meaning="free bars between two spots that are taken together"
    )
    phrase_bars: float = quantity(
        2, unit="bars", low=0, high=8, meaning="how far the next rest or long note may lie"
    )
    breath_beats: float = quantity(
        2, unit="quarter notes", low=0.5, high=16, meaning="a rest or note as long ends a phrase"
    )
    most_bars: float = quantity(
        8, unit="bars", low=1, high=64, meaning="what is longer is practised in pieces"
    )


SPOTS = SpotParams()


@dataclass(frozen=True)
class SpotPart:
    """What one section has to practise in a spot.

    Parameters
    ----------
    part, players
        Name of the section and how many they are.
    headroom
        Least headroom of the section in the whole spot, read at sight; infinite where nothing
        limits it.
    findings
        What goes wrong there, worst first.
    heavy
        Bars that are much to read, heaviest first.
    """

    part: str
    players: int
    headroom: float
    findings: tuple[Finding, ...]
    heavy: tuple[HeavyBar, ...]


@dataclass(frozen=True)
class Spot:
    """Some bars that sections practise by themselves.

    Parameters
    ----------
    first_bar_index, last_bar_index
        Bars from 0, both included.
    start_ticks, end_ticks
        Bar lines around them.
    parts
        Who practises, those with least headroom first.
    """

    first_bar_index: int
    last_bar_index: int
    start_ticks: int
    end_ticks: int
    parts: tuple[SpotPart, ...]

    @property
    def headroom(self) -> float:
        """Least headroom of all its sections at sight."""
        return min(part.headroom for part in self.parts)

    @property
    def load(self) -> float:
        """Heaviest bar of all its sections."""
        return max((bar.load for part in self.parts for bar in part.heavy), default=0.0)

    @property
    def players(self) -> int:
        """How many play."""
        return sum(part.players for part in self.parts)

    @property
    def is_hopeless(self) -> bool:
        """Whether no practice helps: something in it is too fast even for a soloist."""
        return any(f.severity is Severity.IMPOSSIBLE for part in self.parts for f in part.findings)


def choose_spots(review: Review, p: SpotParams = SPOTS) -> tuple[Spot, ...]:
    """What to isolate, since it is too fast at this level; in order of time.

    Returns
    -------
    Spots made of whole phrases. Sections that have to practise the same bars share a spot; the
    spots of one section never overlap unless it was drawn into another's. Accepted findings count
    for nothing.

    Raises
    ------
    UnreadableInput
        The file has no bars that all parts share.

    Not modelled: what is hard to play together; pages and turns.
    """
    meter = shared_bars(review)
    spans: list[_Span] = []
    at_sight: dict[str, SightHeadroom] = {}
    for number, part in enumerate(review.played.parts):
        own = _spans(review, number, part, meter, p)
        if own:
            at_sight[part.name] = sight_headroom(part)
        spans += own
    order = {part.name: number for number, part in enumerate(review.played.parts)}
    return tuple(
        _spot(review, meter, group, at_sight, order)
        for group in _shared(sorted(spans, key=lambda s: (s.first, s.last, s.number)), p)
    )


def changes_first(review: Review) -> tuple[Finding, ...]:
    """What no slower tempo cures and has to be changed before the session, in order of time."""
    found = [f for f in _open(review.findings) if not is_practised(f)]
    return tuple(sorted(found, key=lambda f: (f.start.time_s, f.track, f.check)))


def is_practised(finding: Finding) -> bool:
    """Whether a slower tempo cures it, so that it can be practised."""
    return finding.family == "speed" and finding.check.endswith(_PRACTISED)


def shared_bars(review: Review) -> MeterMap:
    """The bars that all parts share; UnreadableInput where there are none."""
    score = review.played.score
    if score.meter_map is None or score.smf_format == _PATTERNS:
        why = "counts frames" if score.meter_map is None else "holds separate patterns"
        message = (
            f"{score.file}: the file {why} and has no bars that all parts share, so nobody can be"
            " sent to a bar. Export it as format 1 with tempo and time signature."
        )
        raise UnreadableInput(message)
    return score.meter_map


@dataclass(frozen=True)
class _Span:
    """Bars of one part, both included, and why."""

    number: int
    first: int
    last: int
    findings: tuple[Finding, ...]
    heavy: tuple[HeavyBar, ...]

    @property
    def bars(self) -> int:
        return self.last - self.first + 1


def _open(findings: Iterable[Finding]) -> list[Finding]:
    return [f for f in findings if f.accepted is None and f.severity >= Severity.RISKY]


def _spans(
    review: Review, number: int, part: PlayedPart, meter: MeterMap, p: SpotParams
) -> list[_Span]:
    """The phrases of one part that need practice, in order, without overlap."""
    findings = [f for f in _open(review.findings) if f.part == part.name and is_practised(f)]
    bars_of = {id(f): _bars_of(f, part) for f in findings}
    needed = {bar for bars in bars_of.values() for bar in bars}
    heavy = heavy_bars(part) if needed else ()
    groups = [
        piece
        for group in _groups(sorted(needed), int(p.joined_bars))
        for piece in _pieces(*group, list(bars_of.values()), int(p.most_bars))
    ]
    phrases = Phrases(part, meter, p.breath_beats)
    spans: list[_Span] = []
    for place, (first, last) in enumerate(groups):
        low = spans[-1].last + 1 if spans else 0
        high = groups[place + 1][0] - 1 if place + 1 < len(groups) else last + int(p.phrase_bars)
        begin, end = phrases.around(first, last, int(p.phrase_bars), low, high)
        inside = range(first, last + 1)
        spans.append(
            _Span(
                number,
                begin,
                end,
                tuple(f for f in findings if any(bar in inside for bar in bars_of[id(f)])),
                tuple(bar for bar in heavy if begin <= bar.bar_index <= end),
            )
        )
    return spans


def _bars_of(finding: Finding, part: PlayedPart) -> range:
    """Bars of a finding, from 0; a bar line at its end counts where a note lands on it."""
    first, last = finding.start.bar, finding.end.bar
    assert first is not None
    assert last is not None
    on_bar_line = finding.end.beat is not None and finding.end.beat <= 1
    if last > first and on_bar_line and finding.end.tick not in part.notes.onset_ticks:
        last -= 1
    return range(first - 1, last)


def _groups(bars: Sequence[int], joined: int) -> list[tuple[int, int]]:
    """Neighbouring bars as stretches, both ends included."""
    groups: list[tuple[int, int]] = []
    for bar in bars:
        if groups and bar <= groups[-1][1] + 1 + joined:
            groups[-1] = groups[-1][0], bar
        else:
            groups.append((bar, bar))
    return groups


def _pieces(first: int, last: int, whole: Sequence[range], most: int) -> list[tuple[int, int]]:
    """A long stretch cut into pieces, if possible not within a finding."""
    bars = last - first + 1
    if bars <= most:
        return [(first, last)]
    middle = first + bars / 2
    cuts = range(first + max(bars // 4, 1), last + 1 - bars // 4)
    free = [cut for cut in cuts if not any(r.start < cut < r.stop for r in whole)]
    cut = min(free or cuts, key=lambda bar: abs(bar - middle))
    return [*_pieces(first, cut - 1, whole, most), *_pieces(cut, last, whole, most)]


def _shared(spans: Iterable[_Span], p: SpotParams) -> list[list[_Span]]:
    """Spans of several parts that are mostly the same bars, taken together."""
    longest = p.most_bars + 2 * p.phrase_bars
    groups: list[list[_Span]] = []
    for span in spans:
        for group in groups:
            first, last = _ends(group)
            overlap = min(last, span.last) - max(first, span.first) + 1
            union = max(last, span.last) - min(first, span.first) + 1
            shorter = min(last - first + 1, span.bars)
            if overlap >= shorter / 2 and overlap > 0 and union <= longest:
                group.append(span)
                break
        else:
            groups.append([span])
    return groups


def _ends(group: Sequence[_Span]) -> tuple[int, int]:
    return min(span.first for span in group), max(span.last for span in group)


def _spot(
    review: Review,
    meter: MeterMap,
    group: Sequence[_Span],
    at_sight: dict[str, SightHeadroom],
    order: dict[str, int],
) -> Spot:
    first, last = _ends(group)
    start_ticks, end_ticks = (int(tick) for tick in meter.bar_start(np.array([first, last + 1])))
    by_part: dict[int, list[_Span]] = defaultdict(list)
    for span in group:
        by_part[span.number].append(span)
    parts = []
    for number, own in by_part.items():
        part = review.played.parts[number]
        findings = {(f.id, f.start.tick): f for span in own for f in span.findings}.values()
        heavy = {bar.bar_index: bar for span in own for bar in span.heavy}.values()
        parts.append(
            SpotPart(
                part.name,
                part.players,
                at_sight[part.name].between(start_ticks, end_ticks),
                tuple(sorted(findings, key=lambda f: (-f.severity, f.start.tick, f.check))),
                tuple(sorted(heavy, key=lambda bar: (-bar.load, bar.bar_index))),
            )
        )
    parts.sort(key=lambda part: (part.headroom, order[part.part]))
    return Spot(first, last, start_ticks, end_ticks, tuple(parts))
