"""Which part of a piece has the music of which part of the model, and how the music runs on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.grade.music import PartMusic
from mockcheck.plan._ties import (
    Line,
    Ties,
    common_share,
    heaviest_chain,
    joined_ties,
    rows_of,
    ties_between,
)
from mockcheck.plan.alignment import PlaceMap

_SAME_MUSIC_FROM = 0.25
"""Share of short rows of notes in common from which two parts have the same line."""
_NEIGHBOURS = 15
"""Ties that say together how the music runs on; about a bar of four parts."""
_AGREES_QUARTERS = 1 / 16


@dataclass(frozen=True)
class PartPair:
    """A part of the model, the part of the piece with its music, and how far that was moved.

    `shift` is in semitones, upwards; 0 where the line stands as in the model.
    """

    model: PartMusic
    piece: PartMusic
    shift: int


def pair_parts(
    model: Sequence[PartMusic], piece: Sequence[PartMusic]
) -> tuple[list[PartPair], PlaceMap]:
    """The parts that go together, and the way of the whole.

    The music decides, not the name: a line given to another instrument is found there. Parts too
    short or too changed for that go by name, then by instrument.
    """
    chosen = _by_music(model, piece)
    for is_like in (_same_name, _same_instrument):
        taken = {id(part) for pair in chosen for part in pair}
        for part in model:
            other = next(
                (
                    one
                    for one in piece
                    if id(one) not in taken and id(part) not in taken and is_like(part, one)
                ),
                None,
            )
            if other is not None:
                chosen.append((part, other))
                taken |= {id(part), id(other)}
    chosen.sort(key=lambda pair: (pair[0].part, pair[1].part))
    ties = [ties_between(_line(part), _line(other)) for part, other in chosen]
    chain = heaviest_chain(joined_ties(ties))
    pairs = [
        PartPair(part, other, _shift(own, chain))
        for (part, other), own in zip(chosen, ties, strict=True)
    ]
    return pairs, _way(chain, model, piece)


def _line(part: PartMusic) -> Line:
    return part.pitch, part.onset_quarters


def _same_name(one: PartMusic, other: PartMusic) -> bool:
    return one.part == other.part


def _same_instrument(one: PartMusic, other: PartMusic) -> bool:
    return one.instrument == other.instrument


def _by_music(
    model: Sequence[PartMusic], piece: Sequence[PartMusic]
) -> list[tuple[PartMusic, PartMusic]]:
    rows_model, rows_piece = ([rows_of(_line(part)) for part in side] for side in (model, piece))
    shares = []
    for left, one in enumerate(rows_model):
        for right, other in enumerate(rows_piece):
            # Of equal shares the part of the same name, as where two parts play in unison.
            is_other = not _same_name(model[left], piece[right])
            shares.append((-common_share(one, other), is_other, left, right))
    pairs: list[tuple[PartMusic, PartMusic]] = []
    taken: set[int] = set()
    for negative, _, left, right in sorted(shares):
        ends = {id(model[left]), id(piece[right])}
        if -negative >= _SAME_MUSIC_FROM and not ends & taken:
            taken |= ends
            pairs.append((model[left], piece[right]))
    return pairs


def _shift(own: Ties, chain: Ties) -> int:
    """Semitones that most ties of the part agree on."""
    on_way = own.select(np.flatnonzero(np.isin(own.old, chain.old)))
    if not len(on_way.shift):
        return 0
    values, row = np.unique(on_way.shift, return_inverse=True)
    return int(values[np.argmax(np.bincount(row, on_way.weight))])


def _way(chain: Ties, model: Sequence[PartMusic], piece: Sequence[PartMusic]) -> PlaceMap:
    if not len(chain.old):
        # Nothing to go by: the first notes are taken for the same place.
        starts = [min((p.onset_quarters[0] for p in side), default=0.0) for side in (model, piece)]
        return PlaceMap(np.array(starts[:1]), np.array(starts[1:]), np.zeros(1, np.int64), 1.0)
    steps = np.diff(chain.new) / np.diff(chain.old)
    stretch = float(np.median(steps)) if len(steps) else 1.0
    offsets = chain.new - stretch * chain.old
    # A note that comes at another time is tied too, and must not lead its neighbours astray.
    agrees = np.abs(offsets - _running_median(offsets)) <= _AGREES_QUARTERS
    return PlaceMap(chain.old[agrees], chain.new[agrees], chain.shift[agrees], stretch)


def _running_median(values: NDArray[np.float64]) -> NDArray[np.float64]:
    """The median of each value and its neighbours; at the ends they are mirrored."""
    half = _NEIGHBOURS // 2
    padded = np.pad(values, half, mode="symmetric")
    rows: NDArray[np.float64] = np.median(
        np.lib.stride_tricks.sliding_window_view(padded, _NEIGHBOURS), axis=1
    )
    return rows
