"""Stretches of a track played in one way for one reason, and the reason in words."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.heard_strokes import HeardStrokes
from mockcheck.infer.stroke_evidence import (
    BRIEF,
    NOBODY,
    PROGRAM,
    PROGRAM_STROKES,
    SWITCH,
    Said,
)
from mockcheck.model.notes import Notes
from mockcheck.model.played import ARTICULATIONS, COLOURS, ArticulationColumns, ArticulationZone
from mockcheck.model.session import Switch
from mockcheck.params import Params, quantity


class ZoneParams(Params):
    """When the words and the notes contradict each other."""

    conflict: float = quantity(
        2,
        unit="nats",
        low=0,
        high=20,
        meaning="where the notes speak on average so strongly for another stroke, the zone says so",
    )


ZONES = ZoneParams()
_COLOUR_CODES = [ARTICULATIONS.index(name) for name in COLOURS]


def find_zones(
    notes: Notes,
    columns: ArticulationColumns,
    said: Said,
    place: NDArray[np.int64],
    heard: HeardStrokes,
) -> Iterator[ArticulationZone]:
    """Notes of one track in a row with one word for one reason.

    Parameters
    ----------
    notes, columns, heard
        Of the part.
    said
        What is said about the track.
    place
        Its notes in the part, in time order, shape (n,).

    Yields
    ------
    The zones in time order; they cover every note once.
    """
    if not len(place):
        return
    word, colour = columns.word[place], columns.colour[place]
    is_colour = np.isin(word, _COLOUR_CODES)
    source = np.where(is_colour, said.colour.source, said.stroke.source)
    detail = np.where(is_colour, said.colour.detail, said.stroke.detail)
    reason = np.stack([word, source, detail, colour])
    is_first = np.append(True, np.any(reason[:, 1:] != reason[:, :-1], axis=0))
    first = np.flatnonzero(is_first)
    after = np.append(first[1:], len(place))
    for begin, end in zip(first.tolist(), after.tolist(), strict=True):
        own = place[begin:end]
        name = ARTICULATIONS[int(word[begin])]
        why = _who_says(said, int(source[begin]), int(detail[begin]))
        if not why:
            why = _heard(name, own, heard)
        elif not is_colour[begin]:
            why += _contradiction(own, columns.code[own], heard)
        if colour[begin] >= 0 and not is_colour[begin]:
            why += f"; {COLOURS[int(colour[begin])]} beside it"
        yield ArticulationZone(
            track=said.role.index,
            onset_ticks=int(notes.onset_ticks[own[0]]),
            release_ticks=int(notes.release_ticks[own].max()),
            articulation=name,
            confidence=round(float(columns.word_confidence[own].mean()), 3),
            evidence=why,
        )


def _who_says(said: Said, source: int, detail: int) -> str:
    if source == NOBODY:
        return ""
    if source == SWITCH:
        return f"the brief names {_trigger(said.switches[detail])} for it"
    if source == BRIEF:
        return "the brief says so for this track"
    if source == PROGRAM:
        return f"program {detail + 1} of General MIDI is {PROGRAM_STROKES[detail]} strings"
    return f"the track name '{said.role.name}' says so"


def _trigger(switch: Switch) -> str:
    if switch.key is not None:
        return f"key {switch.key}"
    if switch.controller is not None:
        return f"controller {switch.controller}, values {switch.low} to {switch.high},"
    if switch.program is not None:
        return f"program {switch.program + 1}"
    return f"channel {switch.channel}"


def _contradiction(own: NDArray[np.int64], code: NDArray[np.int8], heard: HeardStrokes) -> str:
    if float(heard.support(own, code).mean()) > -ZONES.conflict:
        return ""
    other = ARTICULATIONS[int(np.bincount(heard.code[own]).argmax())]
    return f", although the notes sound like {other}"


def _heard(name: str, own: NDArray[np.int64], heard: HeardStrokes) -> str:
    share = float(np.median(heard.share[own]))
    gap_s = float(np.median(heard.gap_s[own]))
    rate = f"{1 / max(gap_s, 1e-3):.0f} times a second"
    lengths = f"they sound for about {share:.0%} of the time to the next"
    return {
        "legato": "the notes run into each other",
        "portato": "a pitch is struck again without a gap, and separate notes leave one",
        "marcato": f"the notes are separate and accented: {lengths}",
        "staccato": f"the notes are short: {lengths}",
        "spiccato": f"the notes are short and quick: {lengths}",
        "tremolo": f"one pitch is repeated about {rate}",
        "trill": f"two neighbours alternate about {rate}",
    }.get(name, f"the notes are separate: {lengths}")
