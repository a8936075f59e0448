"""Keys that look like articulation switches although the brief does not name them.

The trap is a note written too low: it is music, and has to be reported as out of range. Pitch
alone cannot tell the two apart, for switches of a cello lie one octave under its open string,
where mistakes lie as well. How the keys are pressed can: a note of a line has a place of its own
in the rhythm, a note of a chord begins and ends with it; a switch is pressed beside the notes.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.press_kinds import KINDS, weigh_kinds
from mockcheck.infer.presses import MANNERS, Manner, Presses, describe_presses
from mockcheck.model.instrument import Instrument
from mockcheck.model.notes import Notes
from mockcheck.params import Params, quantity


class UnnamedSwitchParams(Params):
    """How much the place of keys says before anybody looks how they are pressed."""

    far_semitones: float = quantity(
        12,
        unit="semitones outside the range",
        low=5,
        high=36,
        meaning="farther out than this a single wrong note is rare",
        source="common practice, no source: octave slips and wrong notes stay within an octave",
    )
    very_far_semitones: float = quantity(
        24,
        unit="semitones outside the range",
        low=12,
        high=48,
        meaning="farther out than this only a whole line in the wrong octave is music",
    )
    near_gap_semitones: float = quantity(
        4,
        unit="semitones",
        low=1,
        high=12,
        meaning="keys this close to pitches of the music, or to each other, belong together",
    )
    most_neighbours: float = quantity(
        0.5,
        unit="share of the presses",
        low=0,
        high=1,
        meaning="so many presses may be of keys as close to the music, as wrong notes are",
    )
    least_presses: float = quantity(
        3,
        unit="presses",
        low=1,
        high=20,
        meaning="near the range so many presses are needed, for fewer may be slips",
    )
    neighbour_log_odds: float = quantity(
        2.5,
        unit="log-odds",
        low=0,
        high=10,
        meaning="for each further key beside keys that are switches",
    )
    least_log_odds: float = quantity(
        1.5, unit="log-odds", low=0, high=10, meaning="with less a key is not called a switch"
    )


UNNAMED = UnnamedSwitchParams()

_IS_SWITCH = np.array([kind.is_switch for kind in KINDS.values()])
_LARGEST_CONFIDENCE = 0.98


@dataclass(frozen=True)
class UnnamedKey:
    """One key that is taken for a switch; `evidence` is one sentence.

    `is_held` tells that it holds while it is down, not until the next one.
    """

    pitch: int
    presses: int
    is_held: bool
    evidence: str
    confidence: float


@dataclass(frozen=True)
class UnnamedSwitches:
    """Which notes are presses of switches, shape (n,), and the keys."""

    is_switch: NDArray[np.bool_]
    keys: tuple[UnnamedKey, ...]


def find_unnamed_switches(notes: Notes, instrument: Instrument) -> UnnamedSwitches:
    """A row of keys outside the range that are pressed beside the music are switches.

    Parameters
    ----------
    notes
        Notes of one review row, in time order, shape (n,).
    instrument
        Who plays: only keys below its lowest string or above a soloist's top are considered.

    Returns
    -------
    The presses and their keys. Neighbouring keys are judged together, from the farthest to the
    range inwards, as far as their presses are likelier for switches than for any kind of music.
    A row without a note inside the range has no switches: it is for another instrument.

    Source: naive Bayes over the kinds of `press_kinds`, whose shares were measured.
    Not modelled: switches inside the range, and wrong notes on the keys of switches.
    """
    is_switch = np.zeros(len(notes), np.bool_)
    pitch = notes.pitch.astype(np.int64)
    below, above = instrument.lowest - pitch, pitch - instrument.solo_top
    rows = np.flatnonzero(np.maximum(below, above) > 0)
    if len(rows) in (0, len(notes)):
        return UnnamedSwitches(is_switch, ())
    inside = np.delete(pitch, rows)
    presses = describe_presses(notes, rows, np.maximum(below, above)[rows])
    keys: list[UnnamedKey] = []
    for side in (below, above):
        for row in _rows_of_switches(presses, np.flatnonzero(side[rows] > 0), inside):
            is_switch[rows[row.presses]] = True
            keys += [
                _key(presses, row, row.presses[presses.pitch[row.presses] == key])
                for key in np.unique(presses.pitch[row.presses])
            ]
    return UnnamedSwitches(is_switch, tuple(sorted(keys, key=lambda key: key.pitch)))


@dataclass(frozen=True)
class _SwitchRow:
    """Presses of neighbouring keys that are switches, the log-odds for it, and whether held."""

    presses: NDArray[np.intp]
    odds: float
    is_held: bool


def _rows_of_switches(
    presses: Presses, side: NDArray[np.intp], inside: NDArray[np.int64]
) -> list[_SwitchRow]:
    """Rows of switches among the presses on one side of the range."""
    blocks = _blocks(presses, side)
    rows = [row for block in blocks if (row := _judge(presses, block, inside, 0))]
    music = len(side) - sum(len(row.presses) for row in rows)
    # Beside notes that stray out of the range a far key is no rarer than a near one.
    return [
        row
        for row in rows
        if len(row.presses) > music or _judge(presses, row.presses, inside, music)
    ]


def _blocks(presses: Presses, side: NDArray[np.intp]) -> list[NDArray[np.intp]]:
    """Presses of neighbouring keys, a block each."""
    if len(side) == 0:
        return []
    side = side[np.argsort(presses.outside[side], kind="stable")]
    is_gap = np.diff(presses.outside[side]) > UNNAMED.near_gap_semitones
    return np.split(side, np.flatnonzero(is_gap) + 1)


def _judge(
    presses: Presses, block: NDArray[np.intp], inside: NDArray[np.int64], music: int
) -> _SwitchRow | None:
    """Presses of a block that are switches; `music` counts notes that stray on the same side."""
    outside = presses.outside[block]
    keys = np.unique(outside)[::-1]
    # From the farthest key to each key: what is nearer to the range may be music.
    weights = np.stack([weigh_kinds(presses, block[outside >= key]) for key in keys])
    is_all = np.arange(len(keys)) == len(keys) - 1
    zones = np.where(is_all & (music == 0), _zone_of(int(keys[0])), 0)
    weights += np.array([kind.place for kind in KINDS.values()]).T[zones]
    odds = weights[:, _IS_SWITCH].max(axis=1) - weights[:, ~_IS_SWITCH].max(axis=1)
    count = np.array([np.sum(outside >= key) for key in keys])
    odds[(zones == 0) & (count < UNNAMED.least_presses)] = -np.inf
    # Of the keys beside switches some are pressed too seldom to tell.
    beside = UNNAMED.neighbour_log_odds * np.arange(len(keys))
    best = int(np.argmax(np.where(odds >= UNNAMED.least_log_odds, odds + beside, -np.inf)))
    chosen = block[outside >= keys[best]]
    if odds[best] < UNNAMED.least_log_odds or _is_among_music(presses.pitch[chosen], inside):
        return None
    likeliest = int(np.argmax(np.where(_IS_SWITCH, weights[best], -np.inf)))
    return _SwitchRow(chosen, float(odds[best]), list(KINDS)[likeliest] == "held")


def _zone_of(outside: int) -> int:
    """Near the range, far from it, very far."""
    return int(outside > UNNAMED.far_semitones) + int(outside > UNNAMED.very_far_semitones)


def _is_among_music(pitch: NDArray[np.int64], inside: NDArray[np.int64]) -> bool:
    apart = np.abs(np.unique(inside)[:, None] - pitch).min(axis=0)
    is_close = apart <= UNNAMED.near_gap_semitones
    return float(is_close.mean()) > UNNAMED.most_neighbours


def _key(presses: Presses, row: _SwitchRow, own: NDArray[np.intp]) -> UnnamedKey:
    commonest = int(np.argmax(np.bincount(presses.manner[own], minlength=len(Manner))))
    share = float(np.mean(presses.manner[own] == commonest))
    times = "once" if len(own) == 1 else f"{len(own)} times"
    mostly = "mostly " if share < 1 else ""
    evidence = (
        f"pressed {times}, {mostly}{MANNERS[commonest]}, for"
        f" {1000 * float(np.median(presses.duration_s[own])):.0f} ms;"
        f" {presses.outside[own[0]]} semitones outside the range"
    )
    confidence = min(1 / (1 + np.exp(-row.odds)), _LARGEST_CONFIDENCE)
    return UnnamedKey(
        int(presses.pitch[own[0]]), len(own), row.is_held, evidence, round(float(confidence), 2)
    )
