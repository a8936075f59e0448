"""Where note lengths leave the stroke open, and where two tracks of a part disagree about it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.choices import choice_for
from mockcheck.infer.overlaps import find_note_ends
from mockcheck.model.columns import stretches
from mockcheck.model.played import ARTICULATIONS, PlayedPart, Role
from mockcheck.params import Params, quantity

_HEARD = ("legato", "detache", "portato", "marcato", "staccato", "spiccato")
"""Strokes that timing tells apart, more or less; plucking, tremolo and trills are no question."""
_BEFORE_REST = 1.9
"""Where the next onset is so many times later than the one before, a rest hides the written
length; as much as a note of twice the value, less a little for loose timing."""
_CLOCK_S = 1e-6
TOUCHING, MIDDLING, CLIPPED = "touching", "middling", "clipped"
"""Run into the next; between staccato and detache; between spiccato and staccato."""


_SHARE = "share of the time to the next onset"
_MEANS = (
    "staccato sounds for 0.45 (spread 0.15), detache for 0.80 (0.10), spiccato for 0.30 (0.12) of"
    " the time to the next onset; staccato on the piano 0.4 (Bresin and Battel, 2000), the others"
    " from memory"
)


class StrokeUnclear(Params):
    """Limits of the check `stroke-unclear`."""

    unsure_below: float = quantity(
        0.75,
        unit="confidence of the stroke",
        low=0,
        high=1,
        meaning="touching notes heard as slurred or separate more surely than this are not asked"
        " about",
        source="three chances in four; a surer stroke is worth no question",
    )
    middling_from: float = quantity(
        0.6,
        unit=_SHARE,
        low=0.2,
        high=0.9,
        meaning="longer notes than this are longer than staccato usually is",
        source=_MEANS,
    )
    middling_to: float = quantity(
        0.7,
        unit=_SHARE,
        low=0.2,
        high=0.95,
        meaning="and shorter than this shorter than detache usually is",
        source=_MEANS,
    )
    clipped_from: float = quantity(
        0.33,
        unit=_SHARE,
        low=0.05,
        high=0.9,
        meaning="longer notes than this may be staccato as well as spiccato",
        source=_MEANS,
    )
    clipped_to: float = quantity(
        0.42,
        unit=_SHARE,
        low=0.1,
        high=0.9,
        meaning="and shorter than this spiccato as well as staccato",
        source=_MEANS,
    )
    bounce_slowest: float = quantity(
        3,
        unit="notes/s",
        low=0.5,
        high=10,
        meaning="slower notes are not bounced",
        source="spiccato 3 to 8 notes/s, from memory",
    )
    longest_short_s: float = quantity(
        0.3,
        unit="s",
        low=0.1,
        high=1,
        meaning="a longer sound is no short note, whatever rest follows it",
        source="as in listening for strokes; from memory",
    )
    touching_share: float = quantity(
        0.97,
        unit=_SHARE,
        low=0.9,
        high=1,
        meaning="notes that sound for more run into the next",
        source="from memory",
    )
    touching_joins: float = quantity(
        0.85,
        unit="share of the joins of a track",
        low=0.5,
        high=1,
        meaning="so many of its joins touch where a track says nothing about slurs: with gaps or"
        " overlaps beside them, touching notes mean something",
    )
    slowest_s: float = quantity(
        1,
        unit="s",
        low=0.2,
        high=10,
        meaning="of slower notes each has a bow of its own, and nobody asks for the stroke",
    )
    least_notes: float = quantity(
        8, unit="notes", low=3, high=100, meaning="fewer notes in a row are no texture"
    )
    least_s: float = quantity(
        4, unit="s", low=0.5, high=60, meaning="a shorter stretch is no texture either"
    )
    together_s: float = quantity(
        0.05,
        unit="s",
        low=0,
        high=0.5,
        meaning="notes of two tracks so close together are one note",
        source="the spread of onsets in ensembles, 49 ms: Rasch (1979)",
    )
    same_passage_s: float = quantity(
        30, unit="s", low=0, high=600, meaning="stretches closer together are one question"
    )


@dataclass(frozen=True)
class OpenStroke:
    """Notes of one track, or of two, whose stroke is open.

    Parameters
    ----------
    kind
        'touching', 'middling' or 'clipped'; 'spiccato and legato' where two tracks disagree.
    note_indices
        Notes of the part, in time order.
    onsets
        How many onsets there are.
    share
        Sounding time over time to the next onset, the middle one; 0 for two tracks.
    rate
        Onsets a second, within the stretches; 0 for two tracks.
    confidence
        Mean confidence of their strokes; of two tracks that of the less sure one.
    """

    kind: str
    note_indices: tuple[int, ...]
    onsets: int
    share: float
    rate: float
    confidence: float


@dataclass(frozen=True)
class _Lengths:
    """The onsets of one track; every array but the first has shape (m,).

    Parameters
    ----------
    rows
        Note indices of the track.
    first
        Row of `rows` at which each onset begins.
    gap_s, sounds_s, share
        Time to the next onset, how long it sounds, and the one over the other.
    touches, repeats
        It runs into the next without overlapping; the next has the same pitch.
    confidence
        Of its stroke.
    is_known
        The next onset says how long it was meant: it is near, and no rest lies between.
    """

    rows: NDArray[np.intp]
    first: NDArray[np.int64]
    onset_s: NDArray[np.float64]
    gap_s: NDArray[np.float64]
    sounds_s: NDArray[np.float64]
    share: NDArray[np.float64]
    touches: NDArray[np.bool_]
    repeats: NDArray[np.bool_]
    confidence: NDArray[np.float64]
    is_known: NDArray[np.bool_]

    def notes_of(self, begin: int, after: int) -> NDArray[np.intp]:
        """Note indices of a row of onsets."""
        return self.rows[self.first[begin] : np.append(self.first, len(self.rows))[after]]


def open_strokes(part: PlayedPart, limits: StrokeUnclear) -> Iterator[OpenStroke]:
    """Stretches of each track whose lengths mean two strokes, of one kind merged."""
    for role in part.roles:
        rows = np.flatnonzero(part.track == role.index)
        if len(rows) < limits.least_notes or _is_said(part, role):
            continue
        lengths = _measure(part, rows, limits)
        for kind, is_kind in _kinds(lengths, limits).items():
            # Lengths between two strokes stay so however they are heard; a touch has two readings
            # that listening weighs against each other.
            unsure_below = limits.unsure_below if kind == TOUCHING else np.inf
            found = [
                (begin, after)
                for begin, after in stretches(is_kind)
                if after - begin >= limits.least_notes
                and lengths.onset_s[after - 1] - lengths.onset_s[begin] >= limits.least_s
                and lengths.confidence[begin:after].mean() < unsure_below
            ]
            # Where nothing of a track is slurred the question is one for the whole track.
            apart_s = np.inf if kind == TOUCHING else limits.same_passage_s
            yield from _merged(lengths, kind, found, apart_s)


def _is_said(part: PlayedPart, role: Role) -> bool:
    """Whether the track's name or the brief says how it is played."""
    choice = choice_for(role, part.session.tracks)
    return bool(role.articulation or choice.articulation or choice.switches)


def _measure(part: PlayedPart, rows: NDArray[np.intp], limits: StrokeUnclear) -> _Lengths:
    notes = part.notes.select(rows)
    ends = find_note_ends(notes)
    first = ends.first_note
    gap_s = np.append(np.diff(ends.onset_s), np.inf)
    next_s = ends.onset_s + gap_s
    until_s = np.minimum(np.maximum.reduceat(ends.heard_release_s, first), next_s)
    overlaps = np.maximum.reduceat(notes.release_s, first) > next_s + _CLOCK_S
    sounds_s = until_s - ends.onset_s
    share = sounds_s / np.maximum(gap_s, _CLOCK_S)
    repeats = np.append(notes.pitch[first[1:]] == notes.pitch[first[:-1]], False)
    before_s = np.concatenate([gap_s[:1], gap_s[:-1]])
    is_heard = np.logical_and.reduceat(part.articulation.is_any(*_HEARD)[rows], first)
    return _Lengths(
        rows=rows,
        first=first,
        onset_s=ends.onset_s,
        gap_s=gap_s,
        sounds_s=sounds_s,
        share=share,
        touches=(share >= limits.touching_share) & ~overlaps,
        repeats=repeats,
        confidence=part.articulation.confidence[rows][first],
        is_known=is_heard & (gap_s <= np.minimum(limits.slowest_s, _BEFORE_REST * before_s)),
    )


def _kinds(lengths: _Lengths, limits: StrokeUnclear) -> dict[str, NDArray[np.bool_]]:
    """Onsets in whose surroundings the middle length means two strokes, by kind."""
    known = lengths.is_known
    middle = _middle_around(np.where(known, lengths.share, np.nan), limits.least_notes)
    is_short = known & (lengths.sounds_s <= limits.longest_short_s)
    is_quick = lengths.gap_s <= 1 / limits.bounce_slowest
    joins = known & ~lengths.repeats
    is_open = joins.any() and lengths.touches[joins].mean() >= limits.touching_joins
    return {
        TOUCHING: joins & lengths.touches & bool(is_open),
        MIDDLING: is_short & _within(middle, limits.middling_from, limits.middling_to),
        CLIPPED: is_short & is_quick & _within(middle, limits.clipped_from, limits.clipped_to),
    }


def _within(share: NDArray[np.float64], lowest: float, highest: float) -> NDArray[np.bool_]:
    return np.asarray((share > lowest + _CLOCK_S) & (share < highest - _CLOCK_S), np.bool_)


def _middle_around(values: NDArray[np.float64], count: float) -> NDArray[np.float64]:
    """Median over each value and its neighbours, unknown ones left out; nan where none is known."""
    reach = int(count) // 2
    padded = np.pad(values, reach, constant_values=np.nan)
    around = np.sort(np.lib.stride_tricks.sliding_window_view(padded, 2 * reach + 1), axis=1)
    known = np.sum(~np.isnan(around), axis=1)
    middle: NDArray[np.float64] = np.take_along_axis(
        around, np.maximum(known - 1, 0)[:, None] // 2, axis=1
    )[:, 0]
    return middle


def _merged(
    lengths: _Lengths, kind: str, found: list[tuple[int, int]], same_passage_s: float
) -> Iterator[OpenStroke]:
    groups: list[list[tuple[int, int]]] = []
    for begin, after in found:
        if groups:
            gone_s = lengths.onset_s[begin] - lengths.onset_s[groups[-1][-1][1] - 1]
            if gone_s <= same_passage_s:
                groups[-1].append((begin, after))
                continue
        groups.append([(begin, after)])
    for group in groups:
        onsets = np.concatenate([np.arange(*stretch) for stretch in group])
        notes = np.concatenate([lengths.notes_of(*stretch) for stretch in group])
        yield OpenStroke(
            kind=kind,
            note_indices=tuple(notes.tolist()),
            onsets=len(onsets),
            share=float(np.median(lengths.share[onsets])),
            rate=float(1 / np.mean(lengths.gap_s[onsets])),
            confidence=float(lengths.confidence[onsets].mean()),
        )


def disagreements(part: PlayedPart, limits: StrokeUnclear) -> Iterator[OpenStroke]:
    """Notes that two tracks of a part play at once with different strokes."""
    code, heard = part.articulation.code, [ARTICULATIONS.index(name) for name in _HEARD]
    for one, other in combinations([role.index for role in part.roles], 2):
        pairs = _doubled(part, one, other, limits.together_s)
        strokes = code[pairs]
        is_asked = np.isin(strokes, heard).all(axis=1) & (strokes[:, 0] != strokes[:, 1])
        differ = pairs[is_asked]
        apart_s = np.diff(part.notes.onset_s[differ[:, 0]])
        for passage in np.split(differ, np.flatnonzero(apart_s > limits.same_passage_s) + 1):
            if len(passage) < limits.least_notes:
                continue
            ((commonest, _),) = Counter(map(tuple, code[passage].tolist())).most_common(1)
            yield OpenStroke(
                kind=" and ".join(ARTICULATIONS[stroke] for stroke in commonest),
                note_indices=tuple(np.unique(passage).tolist()),
                onsets=len(passage),
                share=0.0,
                rate=0.0,
                confidence=float(part.articulation.confidence[passage].mean(axis=0).min()),
            )


def _doubled(part: PlayedPart, one: int, other: int, together_s: float) -> NDArray[np.int64]:
    """Notes of two tracks with one pitch that begin together, in time order, shape (n, 2)."""
    notes = part.notes
    rows = np.flatnonzero(np.isin(part.track, [one, other]))
    order = rows[np.lexsort((notes.onset_s[rows], notes.pitch[rows]))]
    left, right = order[:-1], order[1:]
    is_pair = (
        (notes.pitch[left] == notes.pitch[right])
        & (part.track[left] != part.track[right])
        & (notes.onset_s[right] - notes.onset_s[left] <= together_s)
    )
    pairs = np.stack([left, right], axis=1)[is_pair]
    is_turned = part.track[pairs[:, 0]] != one
    pairs[is_turned] = pairs[is_turned][:, ::-1]
    in_time: NDArray[np.int64] = pairs[np.argsort(pairs[:, 0], kind="stable")]
    return in_time
