"""What single notes of a part cost the eye: signs, ledger lines, leaps, changes of technique.

Every cost is zero or more and per note, in units of a plain accidental, so that costs of a bar may
be added. Numbers are proposals of this project, not fitted to readers.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.printed_signs import PrintedSigns
from mockcheck.model.articulations import ARTICULATIONS
from mockcheck.model.played import PlayedPart
from mockcheck.model.spelled import CHROMATIC_SEMITONE_FIFTHS
from mockcheck.params import Params, quantity

_PROPOSED = "proposal of this project, not fitted"
_FROM_MEMORY = "from memory, not fitted"


class NoteCosts(Params):
    """Weights of what a note costs the eye."""

    new_sign: float = quantity(
        1,
        unit="signs",
        low=0,
        high=5,
        meaning="an accidental in front of the note",
        source=_FROM_MEMORY,
    )
    foreign: float = quantity(
        0.5,
        unit="signs",
        low=0,
        high=5,
        meaning="it contradicts the signature",
        source=_FROM_MEMORY,
    )
    again: float = quantity(
        1.5,
        unit="signs",
        low=0,
        high=5,
        meaning="the second sign on its line or space in a bar",
        source=_FROM_MEMORY,
    )
    double: float = quantity(
        2, unit="signs", low=0, high=5, meaning="a double accidental", source=_FROM_MEMORY
    )
    rare: float = quantity(
        0.5,
        unit="signs",
        low=0,
        high=5,
        meaning="E sharp, B sharp, C flat or F flat outside its key",
        source=_FROM_MEMORY,
    )
    respelled: float = quantity(
        3,
        unit="signs",
        low=0,
        high=5,
        meaning="the pitch before it, spelled otherwise",
        source=_FROM_MEMORY,
    )
    awkward_interval: float = quantity(
        0.75,
        unit="signs",
        low=0,
        high=5,
        meaning="an augmented or diminished interval to a foreign note or from one; both sides of a"
        " note cost no more than a sign that would mend them, so a sign more never reads easier",
        source=_PROPOSED,
    )
    plain_leap_semitones: float = quantity(
        7,
        unit="semitones",
        low=2,
        high=24,
        meaning="wider leaps than a fifth are read note by note",
        source=_PROPOSED,
    )
    full_leap_semitones: float = quantity(
        19,
        unit="semitones",
        low=3,
        high=48,
        meaning="from a twelfth on a leap costs one, between the two a share of it",
        source=_PROPOSED,
    )
    counted_lines: float = quantity(
        8,
        unit="square of ledger lines",
        low=1,
        high=50,
        meaning="ledger lines are seen, then counted: their square over this, half for two lines",
        source=_PROPOSED,
    )


NOTE_COSTS = NoteCosts()
_RARE_FIFTHS = (11, 12, -7, -8)
"""E sharp, B sharp, C flat and F flat."""
_PERFECT_OR_PLAIN_FIFTHS = 5
_CLEFS = {"treble": (37, 45), "alto": (31, 39), "tenor": (27, 35), "bass": (25, 33)}
"""Lowest and highest line of the staff as staff steps; middle C stands on 35."""
_CLEFS_OF = {
    "violin": ("treble",),
    "viola": ("alto", "treble"),
    "cello": ("bass", "tenor", "treble"),
    "double bass": ("bass", "tenor", "treble"),
}
"""Clefs that players of each instrument read, its own first (common practice, no source)."""
_OCTAVE_STEPS = 7
_HIGHEST_STEP = 80
_WORDED = ("pizzicato", "col legno", "harmonic")
"""Ways of playing that a part announces with a word and ends with another."""


def sign_costs(
    signs: PrintedSigns, fifths: NDArray[np.int64], lines: NDArray[np.int64]
) -> NDArray[np.float64]:
    """What accidentals and the intervals they make cost, in signs, shape (n,).

    Parameters
    ----------
    signs
        The signs of a part.
    fifths
        Its spelling, shape (n,).
    lines
        Line that each note belongs to; intervals are read along lines, shape (n,).

    Source: kinds of cost: rules of engraving and composition courses (accidentals that contradict,
    doubles, awkward intervals); weights from memory, not fitted.
    """
    cost: NDArray[np.float64] = signs.is_printed * (
        NOTE_COSTS.new_sign
        + NOTE_COSTS.foreign * signs.is_foreign
        + NOTE_COSTS.again * signs.is_again
        + NOTE_COSTS.double * (np.abs(signs.alteration) > 1)
        + NOTE_COSTS.rare * (signs.is_foreign & np.isin(fifths, _RARE_FIFTHS))
    )
    for row_before, row in _neighbours(lines):
        away = np.abs(fifths[row] - fifths[row_before])
        # Twelve places away the same pitch stands on the next line or space.
        moved = np.abs(signs.step[row] - signs.step[row_before])
        is_respelled = (away > 0) & (away == 12 * moved)
        is_awkward = (away > _PERFECT_OR_PLAIN_FIFTHS) & (away != CHROMATIC_SEMITONE_FIFTHS)
        is_awkward &= signs.is_foreign[row] | signs.is_foreign[row_before]
        np.add.at(
            cost,
            row,
            np.where(is_respelled, NOTE_COSTS.respelled, NOTE_COSTS.awkward_interval * is_awkward),
        )
    return cost


def ledger_costs(part: PlayedPart, signs: PrintedSigns) -> NDArray[np.float64]:
    """What ledger lines cost, in signs, shape (n,).

    Where another clef would take them away, that clef is assumed, and a note up there costs what
    the highest note below the change does: to read it is no easier. A string patch of the whole
    body is read in the treble clef.
    """
    name = part.instrument.id
    family = "double bass" if name.startswith("double bass") else name
    clefs = [_CLEFS[clef] for clef in _CLEFS_OF.get(family, ("treble",))]
    step = np.arange(_HIGHEST_STEP)
    below = np.maximum(clefs[0][0] - step, 0) // 2
    above = np.min([np.maximum(step - top, 0) // 2 for _, top in clefs], axis=0)
    lines = below + np.maximum.accumulate(above)
    # A double bass reads an octave above what sounds.
    written = signs.step + (_OCTAVE_STEPS if family == "double bass" else 0)
    cost: NDArray[np.float64] = (
        lines[np.clip(written, 0, _HIGHEST_STEP - 1)] ** 2 / NOTE_COSTS.counted_lines
    )
    return cost


def leap_costs(pitch: NDArray[np.int64], lines: NDArray[np.int64]) -> NDArray[np.float64]:
    """What the way from the note before costs, 0 to 1, shape (n,); pitches are MIDI pitches."""
    cost = np.zeros(len(pitch))
    room = NOTE_COSTS.full_leap_semitones - NOTE_COSTS.plain_leap_semitones
    for row_before, row in _neighbours(lines):
        wide = np.abs(pitch[row] - pitch[row_before]) - NOTE_COSTS.plain_leap_semitones
        cost[row] = np.clip(wide / room, 0, 1)
    return cost


def technique_changes(part: PlayedPart) -> NDArray[np.float64]:
    """Number of words of playing that begin or end at each note, shape (n,)."""
    columns = part.articulation
    worded = [ARTICULATIONS.index(name) for name in _WORDED]
    way = np.where(np.isin(columns.code, worded), columns.code, -1)
    changes = np.zeros(len(way))
    changes[1:] = (np.diff(way) != 0) * 1.0 + (np.diff(columns.colour) != 0)
    return changes


def is_read(part: PlayedPart, lines: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Notes that stand on the page, shape (n,): the strokes of a tremolo or trill are a sign."""
    is_sign = part.articulation.is_any("tremolo", "trill")
    pitch = part.notes.pitch.astype(np.int64)
    kept = np.ones(len(pitch), np.bool_)
    for line in np.unique(lines).tolist():
        rows = np.flatnonzero(lines == line)
        for back in (1, 2):
            later, earlier = rows[back:], rows[:-back]
            is_same = (pitch[later] == pitch[earlier]) & is_sign[later] & is_sign[earlier]
            kept[later[is_same]] = False
    return kept


def _neighbours(
    lines: NDArray[np.int64],
) -> list[tuple[NDArray[np.int64], NDArray[np.int64]]]:
    """For each line, its notes but the last and its notes but the first."""
    rows = [np.flatnonzero(lines == line) for line in np.unique(lines).tolist()]
    return [(row[:-1], row[1:]) for row in rows]
