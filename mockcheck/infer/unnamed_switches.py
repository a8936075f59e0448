"""Keys that look like articulation switches although the brief does not name them.

The trap is a note written too low: it is music, and has to be reported as out of range. Pitch
alone cannot tell the two apart, for switches of a cello lie one octave under its open string,
where mistakes lie as well. How a key is pressed can: a note of a line has a place of its own in
the rhythm; a switch is tapped beside the notes. Keys held near the range are left alone: nothing
tells them from a bass.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.presses import Presses, describe_presses
from mockcheck.model.instrument import Instrument
from mockcheck.model.notes import Notes
from mockcheck.params import Params, quantity


class UnnamedSwitchParams(Params):
    """How a pressed key betrays that it is no music."""

    far_semitones: float = quantity(
        12,
        unit="semitones outside the range",
        low=5,
        high=36,
        meaning="farther out than this a single wrong note is rare",
        source="common practice, no source: octave slips and wrong notes stay within an octave",
    )
    near_gap_semitones: float = quantity(
        4,
        unit="semitones",
        low=1,
        high=12,
        meaning="pitches this close to pitches of the music belong to it",
    )
    most_neighbours: float = quantity(
        0.25,
        unit="share of the presses",
        low=0,
        high=1,
        meaning="so many notes may lie as close to keys near the range, as wrong notes do",
    )
    least_presses: float = quantity(
        3,
        unit="presses",
        low=2,
        high=20,
        meaning="near the range so many presses of one manner are needed",
    )
    least_share: float = quantity(
        0.4,
        unit="share of the presses of a key",
        low=0.1,
        high=1,
        meaning="so many presses of a switch are beside the notes",
        source="measured on printed quartets: of single notes moved under the range 2 to 6 percent"
        " look so, of switches tapped before or with notes 40 to 100 percent",
    )


UNNAMED = UnnamedSwitchParams()
_MAJORITY = 0.5


@dataclass(frozen=True)
class UnnamedKey:
    """One key that is taken for a switch; `evidence` is one sentence."""

    pitch: int
    presses: int
    evidence: str
    confidence: float


@dataclass(frozen=True)
class UnnamedSwitches:
    """Which notes are presses of switches, shape (n,), and the keys."""

    is_switch: NDArray[np.bool_]
    keys: tuple[UnnamedKey, ...]


def find_unnamed_switches(notes: Notes, instrument: Instrument) -> UnnamedSwitches:
    """A key outside the range that is pressed beside the music is a switch.

    Parameters
    ----------
    notes
        Notes of one review row, in time order, shape (n,).
    instrument
        Who plays: only keys below its lowest string or above a soloist's top are considered.

    Returns
    -------
    The presses and their keys. Up to an octave outside the range, a key needs several presses
    that no line or chord would have; farther out, a key is a switch unless it belongs to a line.
    A row without a note inside the range has no switches: it is for another instrument.

    Source: common practice, no source.
    """
    nothing = UnnamedSwitches(np.zeros(len(notes), np.bool_), ())
    outside = _semitones_outside(notes, instrument)
    rows = np.flatnonzero(outside > 0)
    if len(rows) in (0, len(notes)):
        return nothing
    is_near = outside[rows] <= UNNAMED.far_semitones
    presses = describe_presses(notes, rows, outside[rows], is_near)
    chosen = _near_switches(presses, is_near, notes.pitch[outside <= 0].astype(np.int64))
    near_music = presses.pitch[is_near & ~chosen]
    music = np.unique(np.append(notes.pitch[outside <= 0].astype(np.int64), near_music))
    chosen |= _far_switches(presses, ~is_near, music, len(near_music))
    is_switch = nothing.is_switch.copy()
    is_switch[rows[chosen]] = True
    keys = [
        _key(presses, chosen & (presses.pitch == pitch))
        for pitch in np.unique(presses.pitch[chosen])
    ]
    return UnnamedSwitches(is_switch, tuple(keys))


def _semitones_outside(notes: Notes, instrument: Instrument) -> NDArray[np.int64]:
    pitch = notes.pitch.astype(np.int64)
    return np.maximum(instrument.lowest - pitch, pitch - instrument.solo_top)


def _near_switches(
    presses: Presses, is_near: NDArray[np.bool_], inside: NDArray[np.int64]
) -> NDArray[np.bool_]:
    """Within an octave of the range many presses have to be such that no line would have them."""
    chosen = np.zeros(len(is_near), np.bool_)
    if presses.is_beside[is_near].sum() < UNNAMED.least_presses:
        return chosen
    for pitch in np.unique(presses.pitch[is_near]):
        own = presses.pitch == pitch
        if float(presses.is_beside[own].mean()) >= UNNAMED.least_share:
            chosen |= own
    is_chance = chosen.sum() < max(UNNAMED.least_presses, UNNAMED.least_share * is_near.sum())
    if is_chance:
        return np.zeros(len(is_near), np.bool_)
    # Among the keys of a row of switches some are pressed too seldom to tell.
    pitch = presses.pitch
    is_among = (pitch >= pitch[chosen].min()) & (pitch <= pitch[chosen].max())
    chosen |= is_near & is_among & ~presses.is_line
    others = np.append(inside, pitch[is_near & ~chosen])
    apart = np.abs(others[:, None] - np.unique(pitch[chosen])).min(axis=1)
    neighbours = int((apart <= UNNAMED.near_gap_semitones).sum())
    if neighbours > UNNAMED.most_neighbours * chosen.sum():
        return np.zeros(len(is_near), np.bool_)
    return chosen


def _far_switches(
    presses: Presses, is_far: NDArray[np.bool_], music: NDArray[np.int64], near_notes: int
) -> NDArray[np.bool_]:
    """Beyond an octave a key is a switch unless it belongs to a line or to the pitches above it.

    `music` holds the pitches of the music nearer to the range and inside it; `near_notes` counts
    its notes just outside the range: a part that strays often may stray far.
    """
    chosen = np.zeros(len(is_far), np.bool_)
    if not is_far.any():
        return chosen
    beside, line = presses.is_beside, presses.is_line
    lines_rule = float(line[is_far].mean()) > _MAJORITY
    strays_often = near_notes >= max(UNNAMED.least_presses, float(is_far.sum()))
    # From the range outwards, so that a line that strays on and on stays a line.
    pitches, first = np.unique(presses.pitch[is_far], return_index=True)
    for place in np.argsort(presses.outside[is_far][first], kind="stable"):
        own = presses.pitch == pitches[place]
        is_close = np.abs(music - pitches[place]).min() <= UNNAMED.near_gap_semitones
        is_beside = float(beside[own].mean()) >= UNNAMED.least_share
        is_beside &= not strays_often or int(own.sum()) >= UNNAMED.least_presses
        if (not is_beside and (is_close or strays_often)) or (
            lines_rule and float(line[own].mean()) > _MAJORITY
        ):
            music = np.append(music, pitches[place])
        else:
            chosen |= own & ~line if lines_rule else own
    return chosen


def _key(presses: Presses, own: NDArray[np.bool_]) -> UnnamedKey:
    count = int(own.sum())
    outside = int(presses.outside[own][0])
    beside = float(presses.is_beside[own].mean())
    is_far = outside > UNNAMED.far_semitones
    confidence = (0.8 if is_far else 0.65) + 0.1 * beside
    confidence += 0.07 * (min(count, UNNAMED.least_presses) - 1) / (UNNAMED.least_presses - 1)
    times = "once" if count == 1 else f"{count} times"
    evidence = (
        f"pressed {times}, {outside} semitones outside the range, for"
        f" {1000 * float(np.median(presses.duration_s[own])):.0f} ms;"
        f" {beside:.0%} of the presses stand beside the notes, not in their rhythm"
    )
    return UnnamedKey(int(presses.pitch[own][0]), count, evidence, round(confidence, 2))
