"""What it costs a line of a part to take a note."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.overlaps import NoteEnds
from mockcheck.infer.texture import Texture
from mockcheck.model.notes import Notes
from mockcheck.params import Params, quantity

_FITTED = "fitted: lines of half of 26 open string quartets put on one track, two to four at a time"


class VoiceParams(Params):
    """Costs of one step of a line; only their proportions matter."""

    leap_power: float = quantity(
        0.5,
        unit="power",
        low=0.1,
        high=2,
        meaning="a leap costs its semitones to this power: rather one wide leap than two",
        source=_FITTED,
    )
    move: float = quantity(
        0.3, unit="cost", low=0, high=10, meaning="any other pitch", source=_FITTED
    )
    rest: float = quantity(
        1.0, unit="cost", low=0, high=10, meaning="a rest before the note", source=_FITTED
    )
    rest_per_s: float = quantity(
        1.0, unit="cost per s", low=0, high=10, meaning="its length", source=_FITTED
    )
    rest_per_onset: float = quantity(
        0.8,
        unit="cost per onset",
        low=0,
        high=10,
        meaning="other notes that begin meanwhile",
        source=_FITTED,
    )
    longest_rest: float = quantity(
        4.7, unit="s, and onsets", low=1, high=60, meaning="more costs no more", source=_FITTED
    )
    no_rest_s: float = quantity(
        0.05, unit="s", low=0, high=0.5, meaning="a shorter gap is no rest", source=_FITTED
    )
    length: float = quantity(
        1.4,
        unit="cost per e-fold",
        low=0,
        high=10,
        meaning="longer or shorter than the note before, up to two e-folds",
        source=_FITTED,
    )
    velocity: float = quantity(
        0.25,
        unit="cost per step of velocity",
        low=0,
        high=5,
        meaning="louder or softer than the line has lately been",
        source=_FITTED,
    )
    most_velocity: float = quantity(
        6.5, unit="cost", low=0, high=50, meaning="the same at most", source=_FITTED
    )
    memory: float = quantity(
        0.25,
        unit="share",
        low=0.01,
        high=1,
        meaning="how far one note moves the loudness that a line has lately had",
        source=_FITTED,
    )
    height: float = quantity(
        0.1,
        unit="cost per semitone",
        low=0,
        high=5,
        meaning="away from where the line lies when all lines sound",
        source=_FITTED,
    )
    unknown_height: float = quantity(
        1.0, unit="cost", low=0, high=10, meaning="all lines are never heard here", source=_FITTED
    )
    unusual_line: float = quantity(
        12, unit="cost", low=0, high=100, meaning="one line more than is usual here", source=_FITTED
    )
    crossing: float = quantity(
        4.7,
        unit="cost",
        low=0,
        high=50,
        meaning="a line that sounds on the wrong side of the note",
        source=_FITTED,
    )


VOICE = VoiceParams()
_LONGEST_LENGTHS = 2.0
_SHORTEST_S = 0.01


class VoiceCosts:
    """The costs of one part, looked up note by note.

    Seconds are rounded to a ten-thousandth and heights to a hundredth of a semitone, so that the
    same music costs exactly the same wherever in the file it stands.
    """

    def __init__(self, notes: Notes, ends: NoteEnds, texture: Texture) -> None:
        heard_s = ends.heard_release_s
        lengths_s = np.maximum(np.round(heard_s - notes.onset_s, 4), _SHORTEST_S)
        self._pitch: list[int] = notes.pitch.tolist()
        self._velocity: list[int] = notes.velocity.tolist()
        self._onset_s: list[float] = _rounded(ends.onset_s)
        self._end_s: list[float] = _rounded(heard_s)
        self._log_length: list[float] = np.log(lengths_s).tolist()
        self._usual: list[int] = texture.usual.tolist()
        self._height: list[list[float]] = np.round(texture.height, 2).T.tolist()
        wide = np.arange(1.0, 128)
        self._leap: list[float] = [0.0, *(VOICE.move + wide**VOICE.leap_power).tolist()]

    def join(self, before: int, note: int, row: int, onsets_between: int) -> float:
        """One note after another in a line; the second begins at onset `row`."""
        cost = self._leap[abs(self._pitch[before] - self._pitch[note])]
        rest_s = round(self._onset_s[row] - self._end_s[before], 4)
        if rest_s > VOICE.no_rest_s:
            cost += VOICE.rest + VOICE.rest_per_s * min(rest_s, VOICE.longest_rest)
            cost += VOICE.rest_per_onset * min(onsets_between, VOICE.longest_rest)
        ratio = abs(self._log_length[before] - self._log_length[note])
        return cost + VOICE.length * min(ratio, _LONGEST_LENGTHS)

    def loudness(self, lately: float, note: int) -> float:
        """A note in a line that has lately been so loud."""
        change = abs(lately - self._velocity[note])
        return min(VOICE.velocity * change, VOICE.most_velocity)

    def loudness_after(self, lately: float, note: int) -> float:
        """How loud the line has lately been once it has the note; 0 is a line without notes."""
        own = self._velocity[note]
        return lately + VOICE.memory * (own - lately) if lately else float(own)

    def place(self, line: int, note: int, row: int) -> float:
        """A note in this line at all."""
        heights = self._height[row]
        height = heights[line] if line < len(heights) else np.nan
        cost = VOICE.unusual_line if line >= self._usual[row] else 0.0
        if height != height:
            return cost + VOICE.unknown_height
        return cost + VOICE.height * abs(self._pitch[note] - height)

    def crossings(self, line: int, note: int, last: tuple[int, ...], sounding: list[int]) -> float:
        """The lines that sound and lie above the note though lower, or below though higher."""
        pitch, cost = self._pitch[note], 0.0
        for other in sounding:
            rise = self._pitch[last[other]] - pitch
            if (rise > 0 and other > line) or (rise < 0 and other < line):
                cost += VOICE.crossing
        return cost


def _rounded(seconds: NDArray[np.float64]) -> list[float]:
    rounded: list[float] = np.round(seconds, 4).tolist()
    return rounded
