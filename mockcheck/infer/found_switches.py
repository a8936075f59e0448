"""All switches of a row in one list: those the brief names, and those found without being told."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.behaviour import describe_behaviour, hear_behaviour
from mockcheck.infer.unnamed_settings import Setting, find_unnamed_settings
from mockcheck.infer.unnamed_switches import UnnamedKey
from mockcheck.model.notes import Notes
from mockcheck.model.played import FoundSwitch, Role
from mockcheck.model.score import Track
from mockcheck.model.session import Switch

_NONE = -1


def named_switches(
    notes: Notes, music: Notes, track: Track, role: Role, switches: Sequence[Switch]
) -> tuple[FoundSwitch, ...]:
    """Switches that the brief names are certain; those never thrown are not listed.

    Parameters
    ----------
    notes, music
        All notes of one review row, and those without the keys of switches.
    track, role
        Where they stand.
    switches
        What the brief says about the row.
    """
    meanings: dict[tuple[object, ...], list[Switch]] = {}
    for switch in switches:
        trigger = (switch.key, switch.controller, switch.program, switch.channel)
        zone = (switch.low, switch.high) if switch.controller is not None else ()
        meanings.setdefault((*trigger, *zone), []).append(switch)
    found = []
    for same in meanings.values():
        times = _times_thrown(same[0], notes, music, track, role)
        if times:
            meaning = " and ".join(switch.articulation for switch in same)
            found.append(_named(same[0], meaning, times, role))
    return tuple(found)


def _named(switch: Switch, meaning: str, times: int, role: Role) -> FoundSwitch:
    return FoundSwitch(
        track=role.index,
        pitch=switch.key,
        presses=times,
        articulation=meaning,
        evidence=f"the brief names this as the switch for {meaning}",
        confidence=1.0,
        controller=switch.controller,
        low=switch.low,
        high=switch.high,
        program=switch.program,
        channel=switch.channel,
        is_held=switch.held,
    )


def _times_thrown(switch: Switch, notes: Notes, music: Notes, track: Track, role: Role) -> int:
    if switch.key is not None:
        return int(np.sum(notes.pitch == switch.key))
    if switch.channel is not None:
        return _stretches(music.channel == switch.channel)
    times = 0
    for channel in role.channels:
        curves = track.curves(channel)
        if switch.program is not None:
            times += _stretches(curves.program.values == switch.program)
        else:
            values = curves.controller(switch.controller or 0).values
            times += _stretches((values >= switch.low) & (values <= switch.high))
    return times


def _stretches(mask: NDArray[np.bool_]) -> int:
    return int(np.sum(np.diff(mask.astype(np.int8), prepend=0) == 1))


def found_switches(
    music: Notes,
    presses: Notes,
    keys: Sequence[UnnamedKey],
    track: Track,
    role: Role,
    switches: Sequence[Switch],
    votes: NDArray[np.float64] | None = None,
) -> tuple[tuple[FoundSwitch, ...], NDArray[np.int64]]:
    """Every switch found without being told, and the one in force at each note.

    Parameters
    ----------
    music
        The music of one review row, in time order, shape (n,).
    presses, keys
        Notes on keys that were found to be switches, and those keys.
    track, role
        Where they stand.
    switches
        What the brief names; controllers, programs and channels named there are not looked at.
    votes
        How much the other rows of the file speak for controller zones of each width.

    Returns
    -------
    Keys from the lowest, controllers, programs, channels; and the index of the one in force at
    each note, -1 for none, shape (n,). Keys count before the others, held keys before tapped ones.
    """
    named = {("controller", s.controller) for s in switches if s.controller is not None}
    named |= {("program", s.program) for s in switches if s.program is not None}
    named |= {("channel", s.channel) for s in switches if s.channel is not None}
    known = frozenset((kind, int(number or 0)) for kind, number in named)
    settings = find_unnamed_settings(music, track, role, known, votes)
    in_force = np.full(len(music), _NONE, np.int64)
    for number in reversed(range(len(settings))):
        in_force[settings[number].is_of_it] = len(keys) + number
    by_key = _keys_in_force(music, presses, keys)
    in_force = np.where(by_key == _NONE, in_force, by_key)
    behaviour = hear_behaviour(music)

    def follows(of_it: NDArray[np.bool_]) -> str:
        return describe_behaviour(behaviour, music.duration_s, of_it)

    found = [_found_key(key, role, follows(by_key == number)) for number, key in enumerate(keys)]
    found += [
        _found_setting(setting, role, follows(setting.is_of_it))
        for number, setting in enumerate(settings)
    ]
    return tuple(found), in_force


def _keys_in_force(music: Notes, presses: Notes, keys: Sequence[UnnamedKey]) -> NDArray[np.int64]:
    """A tapped key holds until the next one; a held key while it is down."""
    in_force = np.full(len(music), _NONE, np.int64)
    number_of = {key.pitch: number for number, key in enumerate(keys)}
    pressed = np.array([number_of[int(pitch)] for pitch in presses.pitch], np.int64)
    is_held = np.array([key.is_held for key in keys], np.bool_)[pressed]
    latched = presses.onset_ticks[~is_held]
    row = np.searchsorted(latched, music.onset_ticks, side="right")
    in_force = np.concatenate([[_NONE], pressed[~is_held]])[row]
    for press in np.flatnonzero(is_held).tolist():
        first = np.searchsorted(music.onset_ticks, presses.onset_ticks[press])
        after = np.searchsorted(music.onset_ticks, presses.release_ticks[press])
        in_force[first:after] = pressed[press]
    return in_force


def _found_key(key: UnnamedKey, role: Role, follows: str) -> FoundSwitch:
    return FoundSwitch(
        track=role.index,
        pitch=key.pitch,
        presses=key.presses,
        articulation=None,
        evidence=key.evidence,
        confidence=key.confidence,
        follows=follows,
        is_held=key.is_held,
    )


def _found_setting(setting: Setting, role: Role, follows: str) -> FoundSwitch:
    return FoundSwitch(
        track=role.index,
        pitch=None,
        presses=setting.presses,
        articulation=setting.articulation,
        evidence=setting.evidence,
        confidence=setting.confidence,
        follows=follows,
        controller=setting.number if setting.kind == "controller" else None,
        low=setting.low,
        high=setting.high,
        program=setting.number if setting.kind == "program" else None,
        channel=setting.number if setting.kind == "channel" else None,
    )
