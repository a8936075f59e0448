"""How much each bar asks of whoever reads it at sight: an index with its parts, not a truth.

No published scale tells how a bar of strings reads; this puts what readers name (many notes, odd
divisions, accidentals, ledger lines, leaps, changes of technique, what the hand can hardly do) into
one number, by weights that are proposals of this project. It ranks bars of a score so that somebody
looks at the heaviest first. It is monotone: the same bar faster, with its values halved, with one
accidental more, or further above the staff, is never lower; a bar in which nothing begins is 0.

Source: what is counted: A. Lehmann and others on sight-reading (2009, from memory) and the reading
rules of engraving books; rhythm in bits of information, by how often each division was counted in
published quartets.
Not modelled: syncopation and rests within a beat, ties, entries after long rests, changes of clef,
dynamics and bowing signs, how well players know the style, the layout of the page. Of bars that are
only nearly too fast for hand and bow the tightest of the part alone counts. Fast repetition that is
heard as tremolo or trill is read as one sign, and is lighter than slower strokes written out. A
signature, a tremolo or a division of the part that is only heard may change with the notes.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from functools import cache
from importlib import resources
from math import lcm

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.note_costs import (
    is_read,
    leap_costs,
    ledger_costs,
    sign_costs,
    technique_changes,
)
from mockcheck.infer.printed_signs import PrintedSigns, printed_signs
from mockcheck.model.played import PlayedPart
from mockcheck.model.reading import ReadingLoad
from mockcheck.model.written import ONSET_KINDS, WrittenRhythm
from mockcheck.params import Params, quantity

_PROPOSED = "proposal of this project, not fitted"


class LoadParams(Params):
    """How fast each part of the load grows, and how much it can add.

    A part with amount x adds weight * x / (x + half).
    """

    notes_half: float = quantity(
        6, unit="notes/s", low=0.1, high=100, meaning="half of its weight", source=_PROPOSED
    )
    notes_weight: float = quantity(
        0.5, unit="share", low=0, high=1, meaning="most that notes add", source=_PROPOSED
    )
    rhythm_half: float = quantity(
        12, unit="bits/s", low=0.1, high=100, meaning="half of its weight", source=_PROPOSED
    )
    rhythm_weight: float = quantity(
        0.5, unit="share", low=0, high=1, meaning="most that rhythm adds", source=_PROPOSED
    )
    change_bits: float = quantity(
        2,
        unit="bits",
        low=0,
        high=20,
        meaning="another kind of division than the beat before: in twos, in threes, otherwise",
        source=_PROPOSED,
    )
    accidentals_half: float = quantity(
        3, unit="signs/s", low=0.1, high=100, meaning="half of its weight", source=_PROPOSED
    )
    accidentals_weight: float = quantity(
        0.5, unit="share", low=0, high=1, meaning="most that accidentals add", source=_PROPOSED
    )
    ledger_lines_half: float = quantity(
        4, unit="signs/s", low=0.1, high=100, meaning="half of its weight", source=_PROPOSED
    )
    ledger_lines_weight: float = quantity(
        0.4, unit="share", low=0, high=1, meaning="most that ledger lines add", source=_PROPOSED
    )
    leaps_half: float = quantity(
        1.5, unit="leaps/s", low=0.1, high=100, meaning="half of its weight", source=_PROPOSED
    )
    leaps_weight: float = quantity(
        0.3, unit="share", low=0, high=1, meaning="most that leaps add", source=_PROPOSED
    )
    technique_half: float = quantity(
        0.5, unit="changes/s", low=0.05, high=100, meaning="half of its weight", source=_PROPOSED
    )
    technique_weight: float = quantity(
        0.3, unit="share", low=0, high=1, meaning="most that changes add", source=_PROPOSED
    )
    headroom_from: float = quantity(
        0.6,
        unit="time needed over time there is",
        low=0,
        high=1,
        meaning="what needs less is no trouble to the hand",
        source=_PROPOSED,
    )
    headroom_half: float = quantity(
        0.4,
        unit="time needed over time there is, above headroom_from",
        low=0.01,
        high=5,
        meaning="half of its weight: reached where the passage just goes",
        source=_PROPOSED,
    )
    headroom_weight: float = quantity(
        0.5, unit="share", low=0, high=1, meaning="most that hand and bow add", source=_PROPOSED
    )


LOAD = LoadParams()
_UNSEEN = 0.5
"""A division never counted is taken as seen half a time."""
_GRACE = ONSET_KINDS.index("grace")
_PLAIN, _TWOS, _THREES, _OTHER = range(4)


def with_reading_load(parts: Sequence[PlayedPart]) -> tuple[PlayedPart, ...]:
    """Parts with the load of each bar; without one where there are no bars, or none is followed."""
    return tuple(replace(part, reading=reading_load(part)) for part in parts)


def reading_load(part: PlayedPart) -> ReadingLoad | None:
    """The load of each bar of a part up to the last in which a note begins.

    Parameters
    ----------
    part
        A played part with its spelling and its written rhythm.

    Returns
    -------
    Index of each bar, 0 to below 1, with its parts. Where the part divides, each player reads one
    line, so the heaviest line of a bar counts. None where the rhythm could not be written.

    Source: proposal of this project, not fitted; see the head of this file, also for what is not
    modelled.
    """
    signs = printed_signs(part)
    if part.written is None or signs is None or not len(part.notes):
        return None
    bars = int(signs.bar_index.max()) + 1
    amounts = _amounts(part, signs, part.written, bars)
    added = np.array([_added(name, amount) for name, amount in amounts.items()])
    index = 1 - np.prod(1 - added, axis=0)
    heaviest = index.argmax(axis=0)
    bar = np.arange(bars)
    return ReadingLoad(bar, index[heaviest, bar], *added[:, heaviest, bar])


@cache
def division_bits(is_compound: bool, division: int) -> float:
    """How unusual a division of a beat is, bits: -log2 of its share in published quartets.

    Parameters
    ----------
    is_compound
        Of a beat that divides by three as written.
    division
        Equal parts the beat is cut into, 1 or more.

    Returns
    -------
    At least what half as many parts tell: shorter values are never easier.
    """
    counts = _division_counts()[is_compound]
    total = sum(counts.values())
    bits = 0.0
    halved = float(division)
    while halved == int(halved):
        bits = max(bits, -np.log2(max(counts.get(int(halved), 0), _UNSEEN) / total))
        halved /= 2
    return float(bits)


@cache
def _division_counts() -> dict[bool, dict[int, int]]:
    text = resources.files("mockcheck.infer").joinpath("rhythm_counts.json").read_text("utf-8")
    counts: dict[bool, dict[int, int]] = {}
    for kind, follows in json.loads(text).items():
        own = counts.setdefault(kind == "compound", {})
        for row in follows.values():
            for name, seen in row.items():
                if name:
                    parts = lcm(*(Fraction(place).denominator for place in name.split()))
                    own[parts] = own.get(parts, 0) + seen
    return counts


def _seconds_of_bars(part: PlayedPart, bars: int) -> NDArray[np.float64]:
    meter = part.timeline.meter
    assert meter is not None
    edges = meter.bar_start(np.arange(bars + 1))
    seconds: NDArray[np.float64] = np.maximum(np.diff(part.timeline.tempo.seconds_at(edges)), 1e-3)
    return seconds


def _amounts(
    part: PlayedPart, signs: PrintedSigns, written: WrittenRhythm, bars: int
) -> dict[str, NDArray[np.float64]]:
    """What each line asks in each bar by LOAD_COMPONENTS, shape (lines, bars) each."""
    assert part.spelling is not None
    lines = np.zeros(len(part.notes), np.int64) if part.lines is None else part.lines.line
    pitch = part.notes.pitch.astype(np.int64)
    on_page = is_read(part, lines)
    # One player's double stops are one line; divided players have a line each.
    read_line = np.zeros_like(lines) if part.lines is None else part.lines.read_line
    _, line = np.unique(read_line, return_inverse=True)
    size = (int(line.max()) + 1, bars)
    seconds = _seconds_of_bars(part, bars)
    cell = line * bars + signs.bar_index

    def per_second(cost: NDArray[np.float64]) -> NDArray[np.float64]:
        total = np.bincount(cell[on_page], cost[on_page], size[0] * bars).reshape(size)
        rate: NDArray[np.float64] = total / seconds
        return rate

    bits = [_rhythm_bits(written, on_page & (line == own), bars) for own in range(size[0])]
    return {
        "notes": per_second(np.ones(len(pitch))),
        "rhythm": np.array(bits) / seconds,
        "accidentals": per_second(sign_costs(signs, part.spelling.fifths.astype(np.int64), lines)),
        "ledger_lines": per_second(ledger_costs(part, signs)),
        "leaps": per_second(leap_costs(pitch, lines)),
        "technique": per_second(technique_changes(part)),
        "headroom": np.tile(_strain(part, signs.bar_index, bars), (size[0], 1)),
    }


def _added(name: str, amount: NDArray[np.float64]) -> NDArray[np.float64]:
    """What one part of the load adds, from 0 towards its weight."""
    half, weight = getattr(LOAD, f"{name}_half"), getattr(LOAD, f"{name}_weight")
    added: NDArray[np.float64] = weight * amount / (amount + half)
    return added


def _strain(part: PlayedPart, bar_index: NDArray[np.int64], bars: int) -> NDArray[np.float64]:
    """How much of its time the hand or the bow needs, above what is no trouble, shape (bars,)."""
    ratio = np.zeros(bars)
    for passage in part.passages:
        rows = bar_index[list(passage.note_indices)]
        ratio[rows] = np.maximum(ratio[rows], passage.ratio)
    if part.headroom is not None:
        row = bar_index[np.searchsorted(part.notes.onset_ticks, part.headroom_tick)]
        ratio[row] = max(ratio[row], 1 / part.headroom)
    strain: NDArray[np.float64] = np.maximum(ratio - LOAD.headroom_from, 0)
    return strain


def _rhythm_bits(
    written: WrittenRhythm, is_own: NDArray[np.bool_], bars: int
) -> NDArray[np.float64]:
    """Bits of the divisions of each bar and of changes between them, shape (bars,)."""
    grid, onsets = written.grid, written.onsets
    rows = np.flatnonzero(is_own & (onsets.kind != _GRACE))
    beats, first = np.unique(onsets.beat[rows], return_index=True)
    total = np.zeros(bars)
    kind, last = _PLAIN, -1
    for beat, division in zip(beats.tolist(), onsets.division[rows[first]].tolist(), strict=True):
        bits = division_bits(bool(grid.is_compound[beat]), division)
        before = kind if beat == last + 1 else _PLAIN
        kind, last = _division_kind(division) or before, beat
        bits += LOAD.change_bits * (before not in (_PLAIN, kind))
        total[int(grid.bar_index[beat])] += bits
    return total


def _division_kind(division: int) -> int:
    """In twos, in threes, otherwise; the bare beat is plain."""
    if division == 1:
        return _PLAIN
    while division % 2 == 0:
        division //= 2
    return {1: _TWOS, 3: _THREES, 9: _THREES}.get(division, _OTHER)
