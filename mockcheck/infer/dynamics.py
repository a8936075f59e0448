"""How loud the music is meant, and what carries it: a controller that is drawn, else velocity."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.model.curves import Curve
from mockcheck.model.dynamics import DynamicsCurve
from mockcheck.model.notes import Notes
from mockcheck.model.score import ChannelCurves, Track
from mockcheck.params import Params, quantity

MODULATION, BREATH, VOLUME, EXPRESSION = 1, 2, 7, 11
"""Controllers. Source: MIDI 1.0 Detailed Specification 4.2, Control Change, Table III."""

DYNAMICS = ((0, "ppp"), (25, "pp"), (41, "p"), (57, "mp"), (69, "mf"), (88, "f"), (105, "ff"))
"""From which loudness on each name holds. Two customs put a name on a velocity, equal steps of 16
from pp = 33 and the shares of the music21 package (pp 0.25, p 0.35, mp 0.45, mf 0.55, f 0.7,
ff 0.85 of 127); the limits lie where both give one name."""


class DynamicsParams(Params):
    """What makes a controller the one that draws the dynamics, and how fine the curve is."""

    least_travel: float = quantity(
        10,
        unit="steps of 127",
        low=1,
        high=127,
        meaning="from lowest to highest value under the notes; what moves less is a setting",
    )
    most_silent_notes: float = quantity(
        0.1,
        unit="share of the notes",
        low=0,
        high=1,
        meaning="modulation that is at nothing under more of the notes asks for vibrato: notes that"
        " sound are not silent; beside another drawn controller it is enough that they begin so",
    )
    drawn_confidence: float = quantity(
        0.95,
        unit="confidence",
        low=0,
        high=1,
        meaning="expression or breath that moves: made for dynamics",
    )
    modulation_confidence: float = quantity(
        0.85,
        unit="confidence",
        low=0,
        high=1,
        meaning="modulation that moves: dynamics in most instruments, vibrato in some",
    )
    rival_share: float = quantity(
        0.3,
        unit="share",
        low=0,
        high=1,
        meaning="how much a second controller that moves as far takes from the confidence",
    )
    velocity_confidence: float = quantity(
        0.9,
        unit="confidence",
        low=0,
        high=1,
        meaning="velocity that changes where no controller moves",
    )
    unmoved_confidence: float = quantity(
        0.5,
        unit="confidence",
        low=0,
        high=1,
        meaning="nothing changes: the value is a setting as likely as a dynamic",
    )
    slot_s: float = quantity(
        0.1,
        unit="s",
        low=0.01,
        high=2,
        meaning="values sent closer together than this count as one, their mean",
    )
    least_change: float = quantity(
        2,
        unit="steps of 127",
        low=0,
        high=32,
        meaning="smaller changes from the value before are not kept",
    )


PARAMS = DynamicsParams()


def dynamic_name(loudness: float) -> str:
    """The dynamic a player would read for a loudness of 0-127, ppp to ff."""
    return [name for lowest, name in DYNAMICS if loudness >= lowest][-1]


@dataclass(frozen=True)
class Carrier:
    """What carries the loudness of the notes on one channel.

    Parameters
    ----------
    source
        'controller 11', 'velocity', 'velocity and controller 7'.
    level
        The controller that draws it, 0-127; None for velocity.
    shares
        Controllers that scale it, 0-1 of their own highest value.
    confidence
        How sure this is (0-1).
    """

    source: str
    level: Curve | None
    shares: tuple[Curve, ...]
    confidence: float


def find_carriers(
    notes: Notes, track: Track, switches: Collection[int] = ()
) -> Mapping[int, Carrier]:
    """A drawn controller says how loud a long note is; velocity only says how it begins.

    Parameters
    ----------
    notes
        The music of one review row, switches taken out, shape (n,).
    track
        The chunk they are from.
    switches
        Controllers that change the articulation there, so they carry no dynamics.

    Returns
    -------
    By channel: the curve of controller 1, 2 or 11 that moves most, velocity where none moves.
    Expression and volume that move beside it scale it by their share of their own highest value.

    Source: MIDI 1.0 Detailed Specification 4.2 for the controllers' meaning; that 1, 2 and 11 carry
    the dynamics is common practice.
    Not modelled: how loud a given sampler makes a value, short notes that follow velocity beside a
    drawn controller, pressure, and curves on an MPE manager channel.
    """
    return {
        channel: _carrier(notes.select(notes.channel == channel), track.curves(channel), switches)
        for channel in np.unique(notes.channel).tolist()
    }


def note_loudness(notes: Notes, carriers: Mapping[int, Carrier]) -> NDArray[np.float64]:
    """Loudness 0-127 of each note, averaged over its length, shape (n,)."""
    loudness = notes.velocity.astype(np.float64)
    for channel, carrier in carriers.items():
        rows = notes.channel == channel
        own = notes.select(rows)
        if carrier.level is not None:
            loudness[rows] = _mean_over(carrier.level, own)
        for share in carrier.shares:
            loudness[rows] *= _mean_over(share, own)
    return loudness


def dynamics_curve(
    notes: Notes, carriers: Mapping[int, Carrier], row: int
) -> tuple[DynamicsCurve, ...]:
    """The loudness of a review row over time, with no more points than a reader needs.

    Parameters
    ----------
    notes
        The music of the row, sorted by onset, shape (n,).
    carriers
        What carries the loudness on each channel.
    row
        Number of the review row.

    Returns
    -------
    One curve from the first onset to the last release, none without notes. Where notes on several
    channels follow each other, the curve is that of the latest note's channel.
    """
    if not len(notes):
        return ()
    # Stretches in which one channel has the latest note.
    begins = np.flatnonzero(np.diff(notes.channel.astype(np.int64), prepend=-1))
    begin_ticks, begin_s = notes.onset_ticks[begins], notes.onset_s[begins]
    end_ticks, end_s = int(notes.release_ticks.max()), float(notes.release_s.max())
    pieces = []
    for channel, carrier in carriers.items():
        own = notes.channel == channel
        curves = (carrier.level or _velocity_curve(notes.select(own)), *carrier.shares)
        ticks = np.concatenate([begin_ticks, *(curve.ticks for curve in curves)])
        time_s = np.concatenate([begin_s, *(curve.time_s for curve in curves)])
        stretch = np.searchsorted(begin_ticks, ticks, side="right") - 1
        is_here = (stretch >= 0) & own[begins][stretch] & (ticks <= end_ticks)
        ticks, first = np.unique(ticks[is_here], return_index=True)
        values = np.prod([curve.value_at_ticks(ticks) for curve in curves], axis=0)
        pieces.append((ticks, time_s[is_here][first], values))
    ticks, time_s, loudness = (np.concatenate(column) for column in zip(*pieces, strict=True))
    order = np.argsort(ticks, kind="stable")
    kept, means = _thin(time_s[order], loudness[order], end_s)
    weight = Counter(notes.channel.tolist())
    sources = Counter[str]()
    for channel, carrier in carriers.items():
        sources[carrier.source] += weight[channel]
    sure = sum(carriers[channel].confidence * count for channel, count in weight.items())
    return (
        DynamicsCurve(
            track=row,
            source=sources.most_common(1)[0][0],
            ticks=ticks[order][kept],
            time_s=time_s[order][kept],
            loudness=means,
            confidence=sure / len(notes),
        ),
    )


def _carrier(notes: Notes, curves: ChannelCurves, switches: Collection[int]) -> Carrier:
    sent = {
        number: _known_from_the_start(curves.controllers[number])
        for number in (MODULATION, BREATH, EXPRESSION, VOLUME)
        if len(curves.controller(number)) and number not in switches
    }
    values = {number: _in_force(curve, notes) for number, curve in sent.items()}
    travel = {
        number: float(np.ptp(own))
        for number, own in values.items()
        if np.ptp(own) >= PARAMS.least_travel
    }
    if MODULATION in travel and _is_vibrato(sent[MODULATION], notes, travel):
        del travel[MODULATION]
    drawn = {number: far for number, far in travel.items() if number != VOLUME}
    chosen = max(drawn, key=lambda number: drawn[number], default=None)
    scaling = [number for number in (EXPRESSION, VOLUME) if number in travel and number != chosen]
    return Carrier(
        source=_source(chosen, scaling, notes),
        level=None if chosen is None else sent[chosen],
        shares=tuple(_share(sent[number], float(values[number].max())) for number in scaling),
        confidence=_confidence(chosen, drawn, scaling, notes),
    )


def _is_vibrato(modulation: Curve, notes: Notes, travel: Mapping[int, float]) -> bool:
    is_silent = _mean_over(modulation, notes) < 1
    if BREATH in travel or EXPRESSION in travel:
        is_silent |= modulation.value_at_ticks(notes.onset_ticks) < 1
    return float(is_silent.mean()) > PARAMS.most_silent_notes


def _source(chosen: int | None, scaling: list[int], notes: Notes) -> str:
    if chosen is None and (not scaling or np.ptp(notes.velocity)):
        first = ["velocity"]
        return " and ".join(first + [f"controller {number}" for number in scaling])
    numbers = sorted([*scaling, *(() if chosen is None else (chosen,))])
    return f"controller {' and '.join(map(str, numbers))}"


def _confidence(
    chosen: int | None, drawn: Mapping[int, float], scaling: list[int], notes: Notes
) -> float:
    if chosen is None:
        has_moved = bool(scaling) or np.ptp(notes.velocity) >= PARAMS.least_travel
        return PARAMS.velocity_confidence if has_moved else PARAMS.unmoved_confidence
    is_modulation = chosen == MODULATION
    sure = PARAMS.modulation_confidence if is_modulation else PARAMS.drawn_confidence
    rival = max((far for number, far in drawn.items() if number != chosen), default=0.0)
    return sure * (1 - PARAMS.rival_share * rival / drawn[chosen])


def _share(curve: Curve, highest: float) -> Curve:
    return Curve(curve.ticks, curve.time_s, curve.values / highest, curve.default / highest)


def _velocity_curve(notes: Notes) -> Curve:
    """The velocity of the latest onset, the loudest note of a chord."""
    ticks, first = np.unique(notes.onset_ticks, return_index=True)
    loudest = np.maximum.reduceat(notes.velocity, first).astype(np.float64)
    return Curve(ticks, notes.onset_s[first], loudest, float(loudest[0]))


def _thin(
    time_s: NDArray[np.float64], values: NDArray[np.float64], end_s: float
) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """Rows worth keeping, and the mean from each slot's first row to the next slot's."""
    _, first = np.unique(np.floor(time_s / PARAMS.slot_s), return_index=True)
    lasts_s = np.maximum(np.diff(time_s, append=max(end_s, float(time_s[-1]))), 1e-9)
    means = np.add.reduceat(values * lasts_s, first) / np.add.reduceat(lasts_s, first)
    means = np.round(means, 6)
    kept, latest = [0], float(means[0])
    for place, value in enumerate(means.tolist()):
        if abs(value - latest) >= PARAMS.least_change:
            kept.append(place)
            latest = value
    return first[kept].astype(np.int64), means[kept]


def _known_from_the_start(curve: Curve) -> Curve:
    """A setting sent late held before too, for all we know; it was not at nothing."""
    return Curve(curve.ticks, curve.time_s, curve.values, float(curve.values[0]))


def _in_force(curve: Curve, notes: Notes) -> NDArray[np.float64]:
    """Values from the first onset to the last release; resets before and after do not count."""
    begin_s, end_s = float(notes.onset_s.min()), float(notes.release_s.max())
    sent = curve.values[(curve.time_s > begin_s) & (curve.time_s < end_s)]
    return np.append(curve.value_at(np.array([begin_s])), sent)


def _mean_over(curve: Curve, notes: Notes) -> NDArray[np.float64]:
    """Mean of a step curve from onset to release; its value at the onset of a note of no length."""
    # Integral of the curve from its first value on; before that it holds its default.
    area = np.concatenate([[0.0], np.cumsum(curve.values[:-1] * np.diff(curve.time_s))])

    def integral(time_s: NDArray[np.float64]) -> NDArray[np.float64]:
        place = np.maximum(np.searchsorted(curve.time_s, time_s, side="right") - 1, 0)
        since_s = time_s - curve.time_s[place]
        held = np.where(since_s < 0, curve.default, curve.values[place])
        return area[place] + since_s * held

    length_s = notes.release_s - notes.onset_s
    has_length = length_s > 0
    covered = integral(notes.release_s) - integral(notes.onset_s)
    mean = covered / np.where(has_length, length_s, 1.0)
    return np.where(has_length, mean, curve.value_at(notes.onset_s))
