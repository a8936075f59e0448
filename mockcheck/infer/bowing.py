"""How notes are bowed, heard from their timing alone."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.note_lengths import NoteLengths, measure_lengths
from mockcheck.infer.stroke_path import Changes, chances_in_passages
from mockcheck.infer.stroke_signs import HEARD, hear_signs
from mockcheck.model.notes import Notes
from mockcheck.params import Params, quantity


class BowingParams(Params):
    """How often strokes change, and what a touch without an overlap means."""

    change_cost: float = quantity(
        4,
        unit="nats",
        low=0,
        high=20,
        meaning="cost of another stroke, so that one odd note does not change it",
    )
    bow_cost: float = quantity(
        1,
        unit="nats",
        low=0,
        high=20,
        meaning="cost of a change between slurred and separate notes, which is bowing, no change"
        " of stroke",
    )
    rest_cost: float = quantity(
        2, unit="nats", low=0, high=20, meaning="cost of another stroke after a rest"
    )
    rest_s: float = quantity(
        1, unit="s", low=0.1, high=10, meaning="silence that makes a new start likely"
    )
    contrast_share: float = quantity(
        0.1,
        unit="share of the joins that are not short",
        low=0.01,
        high=0.5,
        meaning="so many clear gaps beside touching notes are a contrast, and so many overlaps"
        " show how slurs are drawn",
    )
    clear_gap_share: float = quantity(
        0.93,
        unit="share of the time to the next onset",
        low=0.7,
        high=0.97,
        meaning="notes that sound for less leave a clear gap",
    )
    valley: float = quantity(
        0.5,
        unit="share of the rarer kind",
        low=0,
        high=2,
        meaning="touching and parted notes are two kinds if fewer lie between them than this",
    )
    slurred_beside_gaps: float = quantity(
        0.65,
        unit="chance",
        low=0,
        high=1,
        meaning="that touching notes are slurs where separate notes leave clear gaps",
    )
    slurred_anyhow: float = quantity(
        0.45,
        unit="chance",
        low=0,
        high=1,
        meaning="that they are slurs where no note leaves a gap, or all sorts are found",
    )
    slurred_beside_overlaps: float = quantity(
        0.25,
        unit="chance",
        low=0,
        high=1,
        meaning="that they are slurs where slurs are drawn as overlaps",
    )


BOWING = BowingParams()

USUAL = {
    "legato": 0.34,
    "detache": 0.38,
    "portato": 0.03,
    "marcato": 0.01,
    "staccato": 0.11,
    "spiccato": 0.09,
    "tremolo": 0.03,
    "trill": 0.01,
}
"""How often each stroke is the next one. Source: counted on half of the printed quartets of the
listening measurement, rounded; marcato from memory."""

_PLAIN_SHARE = 0.65
"""Shorter notes are short by intention and show no custom of joining."""


@dataclass(frozen=True)
class Bowing:
    """The strokes of a line's onsets, heard from timing; m onsets.

    Parameters
    ----------
    lengths
        The onsets.
    onset_of_note
        The onset each note belongs to, shape (n,).
    chances
        Chance of each stroke of `HEARD`, shape (m, len(HEARD)).
    touch_is_slur
        The chance that notes which only touch are slurred.
    """

    lengths: NoteLengths
    onset_of_note: NDArray[np.int64]
    chances: NDArray[np.float64]
    touch_is_slur: float


def hear_bowing(notes: Notes) -> Bowing:
    """Strokes show in lengths, joins, repetitions and accents, and come in passages.

    Parameters
    ----------
    notes
        Notes of one line, in time order, shape (n,).

    Returns
    -------
    The chance of each stroke at each onset; the notes of a chord share it. What a touch without an
    overlap means is a custom of the line: both readings are heard and mixed by their chance.

    Source: the numbers are named one by one in `BowingParams` and in the signs.
    Not modelled: plucking, wood, harmonics, and colours, which timing does not show.
    """
    lengths, onset_of_note = measure_lengths(notes)
    slurred, has_contrast = _custom_of_joins(lengths)
    chances = np.zeros((len(lengths), len(HEARD)))
    readings = [(slurred, True), (1 - slurred, False)] if lengths.touches.any() else [(1.0, False)]
    changes = _changes()
    silence_s = np.append(0.0, (lengths.gap_s - lengths.sounds_s)[:-1])[: len(lengths)]
    for weight, touch_is_slur in readings:
        signs = hear_signs(lengths, touch_is_slur=touch_is_slur, touch_is_renewed=has_contrast)
        is_after_rest = silence_s >= BOWING.rest_s
        chances += weight * chances_in_passages(signs, changes, is_after_rest)
    return Bowing(lengths, onset_of_note, chances, slurred)


def _custom_of_joins(lengths: NoteLengths) -> tuple[float, bool]:
    """Chance that a touch is a slur in this line, and whether separate notes leave clear gaps."""
    share = lengths.share
    is_plain = (share > _PLAIN_SHARE) & np.isfinite(lengths.gap_s) & ~lengths.overlaps
    touches = lengths.touches & is_plain
    parted = is_plain & ~touches & (share <= BOWING.clear_gap_share)
    between = int((is_plain & ~touches & ~parted).sum())
    drawn, rarer = int(lengths.overlaps.sum()), min(int(touches.sum()), int(parted.sum()))
    enough = BOWING.contrast_share * max(int(is_plain.sum()) + drawn, 1)
    has_contrast = int(parted.sum()) >= enough and between < BOWING.valley * rarer
    if drawn >= enough:
        return BOWING.slurred_beside_overlaps, has_contrast
    return BOWING.slurred_beside_gaps if has_contrast else BOWING.slurred_anyhow, has_contrast


def _changes() -> Changes:
    usual = np.array([USUAL[name] for name in HEARD])
    usual = usual / usual.sum()
    running = _change_table(usual, BOWING.change_cost, BOWING.bow_cost)
    after_rest = _change_table(usual, BOWING.rest_cost, min(BOWING.bow_cost, BOWING.rest_cost))
    return Changes(usual, running, after_rest)


def _change_table(usual: NDArray[np.float64], cost: float, bow_cost: float) -> NDArray[np.float64]:
    table: NDArray[np.float64] = np.exp(-cost) * np.tile(usual, (len(usual), 1))
    slurred, separate, renewed = (HEARD.index(name) for name in ("legato", "detache", "portato"))
    for one, two in ((slurred, separate), (slurred, renewed)):
        pair = np.exp(-bow_cost) / (usual[one] + usual[two])
        table[one, two], table[two, one] = pair * usual[two], pair * usual[one]
    np.fill_diagonal(table, 0.0)
    np.fill_diagonal(table, 1 - table.sum(axis=1))
    return table
