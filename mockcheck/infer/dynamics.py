"""How loud each note is meant: from the controller that draws the dynamics, else from velocity."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mockcheck.model.curves import Curve
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
    """What makes a controller the one that draws the dynamics."""

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
        " sound are not silent",
    )


PARAMS = DynamicsParams()


def dynamic_name(loudness: float) -> str:
    """The dynamic a player would read for a loudness of 0-127, ppp to ff."""
    return [name for lowest, name in DYNAMICS if loudness >= lowest][-1]


def note_loudness(notes: Notes, track: Track) -> NDArray[np.float64]:
    """A drawn controller says how loud a long note is; velocity only says how it begins.

    Parameters
    ----------
    notes
        The music of one review row, switches taken out, shape (n,).
    track
        The chunk they are from.

    Returns
    -------
    Loudness 0-127 of each note, averaged over its length, shape (n,). On each channel the curve of
    controller 1, 2 or 11 that moves most counts, velocity where none moves; expression and volume
    that move beside it scale it by their share of their own highest value.

    Source: MIDI 1.0 Detailed Specification 4.2 for the controllers' meaning; that 1, 2 and 11 carry
    the dynamics is common practice.
    Not modelled: how loud a given sampler makes a value, and curves on an MPE manager channel.
    """
    loudness = notes.velocity.astype(np.float64)
    for channel in np.unique(notes.channel).tolist():
        rows = notes.channel == channel
        own = notes.select(rows)
        loudness[rows] = _on_channel(own, track.curves(channel), loudness[rows])
    return loudness


def _on_channel(
    notes: Notes, curves: ChannelCurves, velocity: NDArray[np.float64]
) -> NDArray[np.float64]:
    sent = {
        number: _known_from_the_start(curves.controllers[number])
        for number in (MODULATION, BREATH, EXPRESSION, VOLUME)
        if len(curves.controller(number))
    }
    values = {number: _in_force(curve, notes) for number, curve in sent.items()}
    heard = {
        number: _mean_over(sent[number], notes)
        for number in values
        if np.ptp(values[number]) >= PARAMS.least_travel
    }
    silent = float((heard[MODULATION] < 1).mean()) if MODULATION in heard else 0.0
    if silent > PARAMS.most_silent_notes:
        del heard[MODULATION]
    drawn = [number for number in (MODULATION, BREATH, EXPRESSION) if number in heard]
    chosen = max(drawn, key=lambda number: float(np.ptp(values[number])), default=None)
    loudness = velocity if chosen is None else heard[chosen]
    for number in (EXPRESSION, VOLUME):
        if number in heard and number != chosen:
            loudness = loudness * heard[number] / values[number].max()
    return loudness


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
