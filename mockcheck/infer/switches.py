"""Switches told apart from music: which keys are no notes, and which stroke they ask for."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.found_switches import found_switches, named_switches
from mockcheck.infer.unnamed_settings import vote_for_zones
from mockcheck.infer.unnamed_switches import find_unnamed_switches
from mockcheck.instruments import instrument
from mockcheck.model.instrument import Instrument
from mockcheck.model.notes import Notes
from mockcheck.model.played import COLOURS, FoundSwitch, Role
from mockcheck.model.score import Score, Track
from mockcheck.model.session import Switch, TrackChoice

SLIDE_SWITCHES = ("portamento", "glissando")
"""What a switch may ask for beside a stroke."""

_NONE = -1


@dataclass(frozen=True)
class SwitchesInForce:
    """The switch of the brief that decides how each note is played, -1 for none.

    Parameters
    ----------
    switches
        The brief's, for this row.
    stroke, colour, slide
        Index into `switches` for each note, shape (n,): the one that names a stroke, the one that
        names a colour beside it, and the one that asks for a slide into the note.
    """

    switches: tuple[Switch, ...]
    stroke: NDArray[np.int64]
    colour: NDArray[np.int64]
    slide: NDArray[np.int64]


@dataclass(frozen=True)
class SwitchedMusic:
    """The notes that are music, the switches in force at each, and all switches in use.

    Parameters
    ----------
    notes
        The music, shape (n,).
    in_force
        What the brief's switches ask for at each note.
    found
        Switches in use: those the brief names, and those found without being told.
    found_in_force
        Of the found ones without a name in the brief, the index into `found` of the one that is
        in force at each note, -1 for none, shape (n,). A key that is down counts before one that
        was tapped, a key before a controller, a controller before a program, a program before a
        channel. Evidence for whoever asks which notes are played alike; it names no stroke.
    """

    notes: Notes
    in_force: SwitchesInForce
    found: tuple[FoundSwitch, ...]
    found_in_force: NDArray[np.int64]


def separate_in_rows(
    score: Score, roles: Sequence[Role], choices: Mapping[int, TrackChoice]
) -> dict[int, SwitchedMusic]:
    """The music and the switches of every row that somebody plays, by row.

    The tracks of one file are mostly written with one table of switches, so how each divides the
    values of controllers helps to understand the others.
    """
    rows = [role for role in roles if role.left_out is None and role.instrument is not None]
    notes = {role.index: _own_notes(score, role) for role in rows}
    votes = {
        role.index: vote_for_zones(notes[role.index], score.tracks[role.track_index], role)
        for role in rows
    }
    every = np.sum(list(votes.values()), axis=0)
    return {
        role.index: separate_switches(
            notes[role.index],
            score.tracks[role.track_index],
            role,
            instrument(role.instrument or ""),
            choices[role.index].switches,
            every - votes[role.index],
        )
        for role in rows
    }


def _own_notes(score: Score, role: Role) -> Notes:
    notes = score.tracks[role.track_index].notes
    return notes.select(np.isin(notes.channel, role.channels))


def separate_switches(
    notes: Notes,
    track: Track,
    role: Role,
    player: Instrument,
    switches: Sequence[Switch],
    votes: NDArray[np.float64] | None = None,
) -> SwitchedMusic:
    """Keys that only tell a sampler what to do are taken out of the music.

    Parameters
    ----------
    notes
        All notes of one review row, in time order.
    track, role, player
        Where they stand and who plays them.
    switches
        What the brief says about this row; such switches are certain.
    votes
        How much the other rows of the file speak for controller zones of each width.

    Returns
    -------
    The music, and what the brief's switches ask for at each of its notes. A switch pressed or
    sent at the very tick of a note counts for it. Switches the brief does not name are found by
    how they are thrown, and change no stroke until it does.
    """
    declared = tuple(switches)
    keys = sorted({switch.key for switch in declared if switch.key is not None})
    is_declared = np.isin(notes.pitch, keys)
    unnamed = find_unnamed_switches(notes.select(~is_declared), player)
    rest = notes.select(~is_declared)
    music, pressed = rest.select(~unnamed.is_switch), rest.select(unnamed.is_switch)
    in_force = _switches_in_force(music, notes.select(is_declared), track, role, declared)
    found, found_in_force = found_switches(
        music, pressed, unnamed.keys, track, role, declared, votes
    )
    named = named_switches(notes, music, track, role, declared)
    return SwitchedMusic(
        notes=music,
        in_force=in_force,
        found=(*named, *found),
        found_in_force=np.where(found_in_force == _NONE, _NONE, found_in_force + len(named)),
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
    stroke, colour, slide = (np.full(len(music), _NONE, np.int64) for _ in range(3))
    in_force = SwitchesInForce(switches, stroke, colour, slide)
    if not switches:
        return in_force
    thrown = np.full((2, len(music)), _NONE, np.int64)
    for channel in role.channels:
        own = music.channel == channel
        for latch in _latches(presses, track, channel, switches):
            which, since = latch.at(music.onset_ticks)
            _apply(in_force, own, which, since, thrown)
    for number, switch in enumerate(switches):
        rows = _held_or_on_channel(music, presses, switch)
        which = np.where(rows, number, _NONE)
        # A key that is down, and a channel of its own, win over anything thrown before.
        since = np.full(len(music), np.iinfo(np.int64).max)
        _apply(in_force, rows, which, since, thrown)
    return in_force


def _apply(
    in_force: SwitchesInForce,
    rows: NDArray[np.bool_],
    switch: NDArray[np.int64],
    since: NDArray[np.int64],
    thrown: NDArray[np.int64],
) -> None:
    """Of two strokes in force the one thrown last counts, and so of two colours."""
    names = [item.articulation for item in in_force.switches]
    is_slide = np.array([name in SLIDE_SWITCHES for name in names] + [False])
    is_colour = np.array([name in COLOURS for name in names] + [False])
    active = rows & (switch != _NONE)
    slides = active & is_slide[switch]
    in_force.slide[slides] = switch[slides]
    for column, own, latest in (
        (in_force.stroke, ~is_slide & ~is_colour, thrown[0]),
        (in_force.colour, is_colour, thrown[1]),
    ):
        chosen = active & own[switch] & (since >= latest)
        column[chosen], latest[chosen] = switch[chosen], since[chosen]


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
