"""How each note is played: what is said outright, else what the timing shows."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.bowing import STACCATO, TREMOLO, TRILL, Bowing, hear_bowing
from mockcheck.infer.switches import SwitchesInForce
from mockcheck.model.notes import Notes
from mockcheck.model.played import ARTICULATIONS, ArticulationColumns, ArticulationZone, Role
from mockcheck.model.session import Switch, TrackChoice
from mockcheck.params import Params, quantity


class EvidenceParams(Params):
    """How sure each kind of evidence makes us; what is heard from timing is less sure than any."""

    brief: float = quantity(
        1.0, unit="confidence", low=0, high=1, meaning="a switch or stroke named in the brief"
    )
    program: float = quantity(
        0.9,
        unit="confidence",
        low=0,
        high=1,
        meaning="program 45 (tremolo strings) or 46 (pizzicato strings)",
        source="General MIDI System Level 1, instrument list",
    )
    name: float = quantity(
        0.85, unit="confidence", low=0, high=1, meaning="the name of the track says the stroke"
    )


EVIDENCE = EvidenceParams()

PROGRAM_STROKES = {44: "tremolo", 45: "pizzicato"}
"""Counted from 0. Source: General MIDI System Level 1, instrument list."""

_UNSAID = -1
_SWITCH, _BRIEF, _PROGRAM, _NAME, _TIMING = range(5)


@dataclass(frozen=True)
class Articulated:
    """The strokes of one row's notes, and the zones they form."""

    columns: ArticulationColumns
    zones: tuple[ArticulationZone, ...]


@dataclass
class _Saying:
    """Stroke of each note with its kind of evidence, filled from the strongest kind down."""

    code: NDArray[np.int8]
    confidence: NDArray[np.float64]
    source: NDArray[np.int8]
    detail: NDArray[np.int64]

    def say(
        self,
        rows: NDArray[np.bool_],
        code: NDArray[np.int8] | int,
        confidence: NDArray[np.float64] | float,
        source: int,
        detail: NDArray[np.int64] | int = 0,
    ) -> None:
        free = rows & (self.code == _UNSAID)
        for column, values in (
            (self.code, code),
            (self.confidence, confidence),
            (self.source, source),
            (self.detail, detail),
        ):
            column[free] = np.broadcast_to(values, free.shape)[free]


def articulate(
    notes: Notes, role: Role, choice: TrackChoice, in_force: SwitchesInForce
) -> Articulated:
    """A switch or the brief counts more than a program, a program more than a name.

    Parameters
    ----------
    notes
        The music of one review row, switches taken out, shape (n,).
    role, choice
        What its name and the brief say.
    in_force
        The brief's switches at each note.

    Returns
    -------
    Code and confidence of each note, and the zones: notes in a row with one stroke for one reason.
    Where nothing is said the timing decides (`hear_bowing`).
    """
    count = len(notes)
    bowing = hear_bowing(notes)
    said = _Saying(
        np.full(count, _UNSAID, np.int8),
        np.zeros(count),
        np.zeros(count, np.int8),
        np.zeros(count, np.int64),
    )
    _say_switches(said, in_force)
    everywhere = np.ones(count, np.bool_)
    if choice.articulation is not None:
        code = ARTICULATIONS.index(choice.articulation)
        said.say(everywhere, code, EVIDENCE.brief, _BRIEF)
    for program, name in PROGRAM_STROKES.items():
        code = ARTICULATIONS.index(name)
        said.say(notes.program == program, code, EVIDENCE.program, _PROGRAM, program)
    if role.articulation is not None:
        said.say(everywhere, ARTICULATIONS.index(role.articulation), EVIDENCE.name, _NAME)
    said.say(everywhere, bowing.code, bowing.confidence, _TIMING)
    columns = ArticulationColumns(said.code, said.confidence)
    return Articulated(columns, _zones(notes, role, said, bowing, in_force.switches))


def _say_switches(said: _Saying, in_force: SwitchesInForce) -> None:
    if not in_force.switches:
        return
    codes = [
        ARTICULATIONS.index(switch.articulation) if switch.articulation in ARTICULATIONS else 0
        for switch in in_force.switches
    ]
    code = np.array(codes, np.int8)[in_force.stroke]
    rows = in_force.stroke >= 0
    said.say(rows, code, EVIDENCE.brief, _SWITCH, in_force.stroke)


def _zones(
    notes: Notes, role: Role, said: _Saying, bowing: Bowing, switches: tuple[Switch, ...]
) -> tuple[ArticulationZone, ...]:
    if len(notes) == 0:
        return ()
    reason = np.stack([said.code, said.source, said.detail])
    first = np.flatnonzero(
        np.concatenate([[True], np.any(reason[:, 1:] != reason[:, :-1], axis=0)])
    )
    release = np.maximum.reduceat(notes.release_ticks, first)
    counts = np.diff(np.append(first, len(notes)))
    confidence = np.add.reduceat(said.confidence, first) / counts
    share = np.add.reduceat(np.minimum(bowing.share, 2.0), first) / counts
    gap_s = np.add.reduceat(np.minimum(bowing.gap_s, 60.0), first) / counts
    return tuple(
        ArticulationZone(
            track=role.index,
            onset_ticks=int(notes.onset_ticks[row]),
            release_ticks=int(release[zone]),
            articulation=ARTICULATIONS[said.code[row]],
            confidence=round(float(confidence[zone]), 3),
            evidence=_sentence(said, row, role, switches, float(share[zone]), float(gap_s[zone])),
        )
        for zone, row in enumerate(first.tolist())
    )


def _sentence(
    said: _Saying,
    row: int,
    role: Role,
    switches: tuple[Switch, ...],
    share: float,
    gap_s: float,
) -> str:
    source, detail = int(said.source[row]), int(said.detail[row])
    if source == _SWITCH:
        return f"the brief names {_trigger(switches[detail])} for it"
    if source == _BRIEF:
        return "the brief says so for this track"
    if source == _PROGRAM:
        return f"program {detail + 1} of General MIDI is {PROGRAM_STROKES[detail]} strings"
    if source == _NAME:
        return f"the track name '{role.name}' says so"
    return _heard(int(said.code[row]), share, gap_s)


def _trigger(switch: Switch) -> str:
    if switch.key is not None:
        return f"key {switch.key}"
    if switch.controller is not None:
        return f"controller {switch.controller}, values {switch.low} to {switch.high},"
    if switch.program is not None:
        return f"program {switch.program + 1}"
    return f"channel {switch.channel}"


def _heard(code: int, share: float, gap_s: float) -> str:
    if code in (TREMOLO, TRILL):
        what = "one pitch is repeated" if code == TREMOLO else "two neighbours alternate"
        return f"{what} about {1 / max(gap_s, 1e-3):.0f} times a second"
    if ARTICULATIONS[code] == "legato":
        return "the notes run into each other"
    length = "short: they sound" if code == STACCATO else "separate: they sound"
    return f"the notes are {length} for about {share:.0%} of the time to the next"
