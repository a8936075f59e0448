"""Switches told apart from music: which keys are no notes, and which stroke they ask for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.unnamed_switches import find_unnamed_switches
from mockcheck.model.instrument import Instrument
from mockcheck.model.notes import Notes
from mockcheck.model.played import FoundSwitch, Role
from mockcheck.model.score import Track
from mockcheck.model.session import Switch

SLIDE_SWITCHES = ("portamento", "glissando")
"""What a switch may ask for beside a stroke."""

_COLOURS = ("con sordino", "sul ponticello", "sul tasto")
_NONE = -1


@dataclass(frozen=True)
class SwitchesInForce:
    """The switch of the brief that decides how each note is played, -1 for none.

    Parameters
    ----------
    switches
        The brief's, for this row.
    stroke, slide
        Index into `switches` for each note, shape (n,): the one that names a stroke, and the one
        that asks for a slide into the note.
    """

    switches: tuple[Switch, ...]
    stroke: NDArray[np.int64]
    slide: NDArray[np.int64]


@dataclass(frozen=True)
class SwitchedMusic:
    """The notes that are music, the switches in force at each, and the keys taken out."""

    notes: Notes
    in_force: SwitchesInForce
    found: tuple[FoundSwitch, ...]


def separate_switches(
    notes: Notes, track: Track, role: Role, instrument: Instrument, switches: Sequence[Switch]
) -> SwitchedMusic:
    """Keys that only tell a sampler what to do are taken out of the music.

    Parameters
    ----------
    notes
        All notes of one review row, in time order.
    track, role, instrument
        Where they stand and who plays them.
    switches
        What the brief says about this row; such keys are certain.

    Returns
    -------
    The music, and what the brief's switches ask for at each of its notes. A switch pressed or
    sent at the very tick of a note counts for it. Keys the brief does not name are found by how
    they are pressed, and change no stroke until it does.
    """
    declared = tuple(switches)
    keys = sorted({switch.key for switch in declared if switch.key is not None})
    is_declared = np.isin(notes.pitch, keys)
    unnamed = find_unnamed_switches(notes.select(~is_declared), instrument)
    rest = notes.select(~is_declared)
    music = rest.select(~unnamed.is_switch)
    found = [
        _declared_key(role, notes, key, declared) for key in keys if np.any(notes.pitch == key)
    ]
    found += [
        FoundSwitch(role.index, key.pitch, key.presses, None, key.evidence, key.confidence)
        for key in unnamed.keys
    ]
    found.sort(key=lambda switch: switch.pitch)
    in_force = _switches_in_force(music, notes.select(is_declared), track, role, declared)
    return SwitchedMusic(music, in_force, tuple(found))


def _declared_key(role: Role, notes: Notes, key: int, switches: tuple[Switch, ...]) -> FoundSwitch:
    meaning = " and ".join(s.articulation for s in switches if s.key == key)
    return FoundSwitch(
        track=role.index,
        pitch=key,
        presses=int(np.sum(notes.pitch == key)),
        articulation=meaning,
        evidence=f"the brief names this key as the switch for {meaning}",
        confidence=1.0,
    )


@dataclass(frozen=True)
class _Latch:
    """What one kind of trigger says over time: from each tick on, the switch, or none."""

    ticks: NDArray[np.int64]
    switch: NDArray[np.int64]

    def at(self, ticks: NDArray[np.int64]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """Switch in force at each tick, and the tick it was thrown at."""
        row = np.searchsorted(self.ticks, ticks, side="right")
        return (
            np.concatenate([[_NONE], self.switch])[row],
            np.concatenate([[_NONE], self.ticks])[row],
        )


def _switches_in_force(
    music: Notes, presses: Notes, track: Track, role: Role, switches: tuple[Switch, ...]
) -> SwitchesInForce:
    stroke = np.full(len(music), _NONE, np.int64)
    slide = np.full(len(music), _NONE, np.int64)
    if not switches:
        return SwitchesInForce(switches, stroke, slide)
    thrown = np.full(len(music), _NONE, np.int64)
    for channel in role.channels:
        own = music.channel == channel
        for latch in _latches(presses, track, channel, switches):
            which, since = latch.at(music.onset_ticks)
            _apply(switches, own, which, since, stroke, thrown, slide)
    for number, switch in enumerate(switches):
        rows = _held_or_on_channel(music, presses, switch)
        which = np.where(rows, number, _NONE)
        # A key that is down, and a channel of its own, win over anything thrown before.
        since = np.full(len(music), np.iinfo(np.int64).max)
        _apply(switches, rows, which, since, stroke, thrown, slide)
    return SwitchesInForce(switches, stroke, slide)


def _apply(
    switches: tuple[Switch, ...],
    rows: NDArray[np.bool_],
    switch: NDArray[np.int64],
    since: NDArray[np.int64],
    stroke: NDArray[np.int64],
    thrown: NDArray[np.int64],
    slide: NDArray[np.int64],
) -> None:
    """Of two switches in force the one thrown last counts; a stroke wins over a colour."""
    names = [item.articulation for item in switches]
    is_slide = np.array([name in SLIDE_SWITCHES for name in names] + [False])
    is_colour = np.array([name in _COLOURS for name in names] + [False])
    active = rows & (switch != _NONE)
    slide[active & is_slide[switch]] = switch[active & is_slide[switch]]
    strokes = active & ~is_slide[switch]
    has_stroke = stroke != _NONE
    yields = is_colour[switch] & has_stroke & ~is_colour[stroke]
    rises = ~is_colour[switch] & has_stroke & is_colour[stroke]
    chosen = strokes & ~yields & ((since >= thrown) | rises)
    stroke[chosen], thrown[chosen] = switch[chosen], since[chosen]


def _latches(
    presses: Notes, track: Track, channel: int, switches: tuple[Switch, ...]
) -> list[_Latch]:
    """The keys and programs of a track are one selector; each controller is one of its own."""
    latches = []
    keys = {s.key: n for n, s in enumerate(switches) if s.key is not None and not s.held}
    is_latching = np.isin(presses.pitch, list(keys))
    key_ticks = presses.onset_ticks[is_latching]
    key_switch = [keys[int(pitch)] for pitch in presses.pitch[is_latching]]
    programs = {s.program: n for n, s in enumerate(switches) if s.program is not None}
    sent = track.curves(channel).program if programs else None
    program_ticks = sent.ticks if sent is not None else np.empty(0, np.int64)
    program_switch = (
        [programs.get(int(value), _NONE) for value in sent.values] if sent is not None else []
    )
    ticks = np.concatenate([program_ticks, key_ticks]).astype(np.int64)
    order = np.argsort(ticks, kind="stable")
    which = np.array([*program_switch, *key_switch], np.int64)
    latches.append(_Latch(ticks[order], which[order]))
    for number in sorted({s.controller for s in switches if s.controller is not None}):
        latches.append(_controller_latch(track, channel, number, switches))
    return latches


def _controller_latch(
    track: Track, channel: int, number: int, switches: tuple[Switch, ...]
) -> _Latch:
    curve = track.curves(channel).controller(number)
    which = np.full(len(curve), _NONE, np.int64)
    for place, switch in enumerate(switches):
        if switch.controller == number:
            which[(curve.values >= switch.low) & (curve.values <= switch.high)] = place
    # Curves are drawn in many values: only a change of switch throws it.
    is_new = np.diff(which, prepend=_NONE - 1) != 0
    return _Latch(curve.ticks[is_new], which[is_new])


def _held_or_on_channel(music: Notes, presses: Notes, switch: Switch) -> NDArray[np.bool_]:
    """Notes struck while a held key is down, or notes on a switch's own channel."""
    rows = np.zeros(len(music), np.bool_)
    if switch.channel is not None:
        rows |= music.channel == switch.channel
    if switch.key is None or not switch.held:
        return rows
    down = presses.select(presses.pitch == switch.key)
    before = np.searchsorted(down.onset_ticks, music.onset_ticks, side="right")
    latest_up = np.maximum.accumulate(np.concatenate([[-1], down.release_ticks]))
    rows |= latest_up[before] > music.onset_ticks
    return rows
