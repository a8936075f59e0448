"""Controller values, programs and channels that look like articulation switches.

A drawn curve moves while notes sound. A switch jumps just before the notes it is for, keeps still
under them, and returns to few values; the notes of one value behave alike.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.behaviour import hear_behaviour
from mockcheck.infer.channel_turns import channels_take_turns
from mockcheck.infer.onsets import first_rows, group_onsets
from mockcheck.infer.value_zones import WIDTHS, find_zones, vote_for_width, weigh_widths
from mockcheck.instruments import vocabulary
from mockcheck.model.curves import Curve
from mockcheck.model.notes import Notes
from mockcheck.model.played import Role
from mockcheck.model.score import Track
from mockcheck.params import Params, quantity


class SettingParams(Params):
    """What tells a thrown switch from a drawn curve. Common practice, no source."""

    heard_share: float = quantity(
        0.75,
        unit="share of the changes",
        low=0,
        high=1,
        meaning="so many changes have notes of their own; a drawn curve moves on before the next",
    )
    late_share: float = quantity(
        0.5,
        unit="share of the time between two onsets",
        low=0,
        high=1,
        meaning="a switch is thrown within so much of it before its note",
    )
    least_late: float = quantity(
        0.7, unit="share of the changes", low=0, high=1, meaning="so many are thrown so late"
    )
    most_changes: float = quantity(
        0.6,
        unit="share of the onsets",
        low=0,
        high=1,
        meaning="what changes more often colours single notes",
    )
    least_sureness: float = quantity(
        0.8, unit="probability", low=0.5, high=1, meaning="of the borders between controller values"
    )
    undefined_log_odds: float = quantity(
        5, unit="log-odds", low=-20, high=20, meaning="for controllers without a meaning of old"
    )
    wandering_log_odds: float = quantity(
        -12, unit="log-odds", low=-40, high=0, meaning="added for values that wander within zones"
    )
    plain_log_odds: float = quantity(
        1, unit="log-odds", low=-20, high=20, meaning="for channels, and for two programs"
    )
    defined_log_odds: float = quantity(
        -5, unit="log-odds", low=-20, high=20, meaning="for those with one, as brightness"
    )
    program_log_odds: float = quantity(
        5, unit="log-odds", low=-20, high=20, meaning="for three programs and more on one track"
    )
    general_midi_log_odds: float = quantity(
        20, unit="log-odds", low=0, high=50, meaning="for programs that all are strings"
    )
    least_log_odds: float = quantity(
        1, unit="log-odds", low=0, high=20, meaning="with less nothing is called a switch"
    )


SETTING = SettingParams()

NO_SWITCHES = frozenset(
    (1, 2, 4, 5, 6, 7, 8, 10, 11, 38, 64, 65, 66, 69, 84, 88, *range(91, 102), *range(120, 128))
)
"""Dynamics, pan, portamento, pedals, effects, parameters and modes: what they mean is known.
Source: MIDI 1.0 Detailed Specification 4.2, Control Change, Table III."""
_DEFINED = frozenset((12, 13, 67, 68, *range(70, 80)))
"""Effect control, soft pedal, legato and sound controllers. Source: the same."""
_BANK = (0, 32)
_FIRST_FINE, _LAST_FINE = 32, 63
_MANY = 3
_GENERAL_MIDI = 0.9
"""How sure a program means what General MIDI calls it; a writer's own list may differ."""
_LARGEST_CONFIDENCE = 0.98
_NONE = -1


@dataclass(frozen=True)
class Setting:
    """One zone of a controller, program or channel that is taken for a switch.

    Parameters
    ----------
    kind, number
        'controller' 0-127, 'program' 0-127 or 'channel' 1-16.
    low, high
        Values of a controller that mean it; 0 and 127 for the others.
    is_of_it, presses
        The notes played with it, shape (n,), and how often it is thrown.
    articulation
        What a program means by General MIDI.
    evidence, confidence
        One sentence, and 0-1.
    """

    kind: str
    number: int
    low: int
    high: int
    is_of_it: NDArray[np.bool_]
    presses: int
    articulation: str | None
    evidence: str
    confidence: float


@dataclass(frozen=True)
class _Heard:
    """The music of one row with the onset and the behaviour of each note."""

    notes: Notes
    onset: NDArray[np.int64]
    first: NDArray[np.int64]
    behaviour: NDArray[np.int8]


def find_unnamed_settings(
    notes: Notes,
    track: Track,
    role: Role,
    known: frozenset[tuple[str, int]] = frozenset(),
    votes: NDArray[np.float64] | None = None,
) -> tuple[Setting, ...]:
    """Few values that jump before notes and tell them apart are switches.

    Parameters
    ----------
    notes
        The music of one review row, switch keys taken out, in time order, shape (n,).
    track, role
        Where they stand.
    known
        Kind and number of what the brief names: left alone.
    votes
        How much the other tracks speak for zones of each width (`vote_for_zones`).

    Returns
    -------
    Controllers, programs, channels; of each every value in use. What is in force throughout is no
    switch.

    Source: common practice, no source; the programs by General MIDI System Level 1.
    Not modelled: switches that two controllers make together, and velocity zones.
    """
    if len(notes) == 0:
        return ()
    heard = _hear(notes)
    found: list[Setting] = []
    for number in _controllers(track, role):
        value = _thrown_values(heard, track, role, number)
        if value is None or ("controller", number) in known:
            continue
        is_defined = number in _DEFINED
        prior = SETTING.defined_log_odds if is_defined else SETTING.undefined_log_odds
        given = np.zeros(len(WIDTHS)) if votes is None else votes
        found += _settings(heard, value, "controller", number, prior, given)
    if not any(kind == "program" for kind, _ in known):
        found += _programs(heard)
    if not any(kind == "channel" for kind, _ in known):
        found += _channels(heard, track)
    return tuple(found)


def vote_for_zones(notes: Notes, track: Track, role: Role) -> NDArray[np.float64]:
    """How much one row speaks for controller zones of each of `WIDTHS`.

    `notes` are its music, or nearly so; a few keys of switches among them do no harm.
    """
    votes = np.zeros(len(WIDTHS))
    numbers = _controllers(track, role)
    if not numbers or len(notes) == 0:
        return votes
    heard = _hear(notes)
    for number in numbers:
        value = _thrown_values(heard, track, role, number)
        if value is not None:
            votes += vote_for_width(weigh_widths(*_segments(heard, value)))
    return votes


def _hear(notes: Notes) -> _Heard:
    onset = group_onsets(notes.onset_s, notes.release_s)
    return _Heard(notes, onset, first_rows(onset), hear_behaviour(notes))


def _segments(
    heard: _Heard, value: NDArray[np.int64]
) -> tuple[NDArray[np.int64], NDArray[np.int8], NDArray[np.int64]]:
    """Values in force one after the other; class and segment of each note with a value."""
    in_force = value != _NONE
    is_new = np.diff(value, prepend=_NONE - 1) != 0
    segment = np.cumsum((is_new & in_force)[in_force]) - 1
    return value[is_new & in_force], heard.behaviour[in_force], segment


def _controllers(track: Track, role: Role) -> list[int]:
    """Numbers that may carry a switch; those of a bank or of fine values belong to another."""
    curves = [track.curves(channel) for channel in role.channels]
    sent = {number for curve in curves for number in curve.controllers}
    has_programs = any(len(curve.program) for curve in curves)
    return [
        number
        for number in sorted(sent - NO_SWITCHES)
        if not (number in _BANK and has_programs)
        and not (_FIRST_FINE <= number <= _LAST_FINE and number - 32 in sent | NO_SWITCHES - {0})
    ]


def _thrown_values(
    heard: _Heard, track: Track, role: Role, number: int
) -> NDArray[np.int64] | None:
    """Value of a controller in force at each note; None where it is not thrown as a switch is."""
    notes = heard.notes
    value = np.full(len(notes), _NONE, np.int64)
    since_ticks = np.zeros(len(notes), np.int64)
    sent = 0
    for channel in role.channels:
        own = notes.channel == channel
        curve = _jumps(track.curves(channel).controller(number))
        if not len(curve) or not own.any():
            continue
        place = np.searchsorted(curve.ticks, notes.onset_ticks[own], side="right")
        value[own] = np.concatenate([[_NONE], curve.values])[place]
        since_ticks[own] = np.concatenate([[0], curve.ticks])[place]
        first, last = notes.onset_ticks[own][[0, -1]]
        sent += int(np.sum((curve.ticks > first) & (curve.ticks <= last)))
    return value if _is_thrown(heard, value, since_ticks, sent) else None


def _jumps(curve: Curve) -> Curve:
    """A curve without values that repeat the one before."""
    is_new = np.diff(curve.values, prepend=-1.0) != 0
    return Curve(curve.ticks[is_new], curve.time_s[is_new], curve.values[is_new])


def _is_thrown(
    heard: _Heard, value: NDArray[np.int64], since_ticks: NDArray[np.int64], sent: int
) -> bool:
    """Whether changes have notes of their own and come late in the time between two onsets."""
    rows = heard.first
    changes = np.flatnonzero(np.diff(value[rows]) != 0) + 1
    if len(changes) == 0 or len(changes) > SETTING.most_changes * len(rows):
        return False
    ticks = heard.notes.onset_ticks[rows]
    lead = ticks[changes] - since_ticks[rows][changes]
    is_late = lead <= SETTING.late_share * (ticks[changes] - ticks[changes - 1])
    is_stepped = len(changes) >= SETTING.heard_share * sent
    return is_stepped and float(is_late.mean()) >= SETTING.least_late


def _programs(heard: _Heard) -> Iterator[Setting]:
    """Programs that change, and those that mean a stroke by General MIDI."""
    program = heard.notes.program.astype(np.int64)
    used = {int(number) for number in np.unique(program[program != _NONE])}
    if len(used) < 2:
        return
    strings, strokes = _general_midi()
    prior = SETTING.plain_log_odds if len(used) < _MANY else SETTING.program_log_odds
    if is_known := used <= strings:
        prior = SETTING.general_midi_log_odds
    for setting in _settings(heard, program, "program", _NONE, prior):
        # Another player of the strings is no other stroke.
        if not is_known or setting.number in strokes:
            yield setting


def _general_midi() -> tuple[set[int], dict[int, str]]:
    """Programs of strings, and those that are a stroke of them."""
    namings = vocabulary().namings.values()
    strokes = {program: name for n in namings for name, program in n.stroke_programs.items()}
    return {program for n in namings for program in n.programs} | set(strokes), strokes


def _channels(heard: _Heard, track: Track) -> Iterator[Setting]:
    channel = heard.notes.channel.astype(np.int64)
    if track.mpe is None and channels_take_turns(heard.notes, heard.first):
        yield from _settings(heard, channel, "channel", _NONE, SETTING.plain_log_odds)


def _settings(
    heard: _Heard,
    value: NDArray[np.int64],
    kind: str,
    number: int,
    prior: float,
    votes: NDArray[np.float64] | None = None,
) -> Iterator[Setting]:
    """Every zone of values in use, where values and notes speak for switches.

    `number` is the controller's; of programs and channels the value is the number.
    """
    in_force = value != _NONE
    if len(np.unique(value[in_force])) < 2:
        return
    of_segment, behaviour, segment = _segments(heard, value)
    is_controller = kind == "controller"
    zones = find_zones(of_segment, behaviour, segment, votes)
    is_wide = bool(np.any(zones.high > zones.low))
    odds = zones.log_odds + prior + is_wide * SETTING.wandering_log_odds
    if odds < SETTING.least_log_odds or zones.sureness < SETTING.least_sureness:
        return
    strokes = {} if is_controller else _general_midi()[1]
    confidence = min(1 / (1 + float(np.exp(-odds))), zones.sureness, _LARGEST_CONFIDENCE)
    for zone, (low, high) in enumerate(zip(zones.low.tolist(), zones.high.tolist(), strict=True)):
        is_of_it = np.zeros(len(value), np.bool_)
        is_of_it[in_force] = zones.of_segment[segment] == zone
        times = int(np.sum(zones.of_segment == zone))
        articulation = strokes.get(low) if kind == "program" else None
        yield Setting(
            kind=kind,
            number=number if is_controller else low,
            low=low if is_controller else 0,
            high=high if is_controller else 127,
            is_of_it=is_of_it,
            presses=times,
            articulation=articulation,
            evidence=_sentence(times, int(is_of_it.sum()), articulation),
            confidence=round(confidence if articulation is None else _GENERAL_MIDI, 2),
        )


def _sentence(times: int, notes: int, articulation: str | None) -> str:
    often = "once" if times == 1 else f"{times} times"
    if articulation is not None:
        return f"{articulation} strings by General MIDI"
    return f"comes into force {often}, just before notes, and holds for {notes} of them"
