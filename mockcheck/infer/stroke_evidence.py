"""What is said outright about how notes are played: switches, the brief, programs, names."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.switches import SwitchedMusic
from mockcheck.model.columns import freeze_columns
from mockcheck.model.played import ARTICULATIONS, COLOURS, Role
from mockcheck.model.session import Switch, TrackChoice
from mockcheck.params import Params, quantity


class EvidenceParams(Params):
    """How much each kind of evidence weighs against what the notes sound like.

    Notes themselves weigh at most three nats, so that what is said wins, and a contradiction
    lowers the confidence.
    """

    program: float = quantity(
        4.5,
        unit="nats",
        low=0,
        high=20,
        meaning="program 45 (tremolo strings) or 46 (pizzicato strings)",
        source="General MIDI System Level 1, instrument list",
    )
    name: float = quantity(
        3.5, unit="nats", low=0, high=20, meaning="the name of the track says how it is played"
    )
    found_switch: float = quantity(
        2,
        unit="nats",
        low=0,
        high=20,
        meaning="what most notes under a switch of unknown meaning sound like, for each of them",
    )
    notes: float = quantity(3, unit="nats", low=0, high=20, meaning="the notes themselves, at most")


EVIDENCE = EvidenceParams()
CERTAIN = np.inf
"""The weight of what the user names in the brief."""

PROGRAM_STROKES = {44: "tremolo", 45: "pizzicato"}
"""Counted from 0. Source: General MIDI System Level 1, instrument list."""

NOBODY, SWITCH, BRIEF, PROGRAM, NAME = range(5)
"""Who says it; later ones count less."""


@dataclass(frozen=True)
class Word:
    """What is said about each note in one respect, stroke or colour; every array has shape (n,).

    Parameters
    ----------
    code
        Index into ARTICULATIONS, or into COLOURS, -1 where nothing is said.
    weight
        Log-odds in its favour, nats.
    source, detail
        Who says so, and the number of the switch or program.
    """

    code: NDArray[np.int8]
    weight: NDArray[np.float64]
    source: NDArray[np.int8]
    detail: NDArray[np.int64]

    def __post_init__(self) -> None:
        freeze_columns(self)


@dataclass(frozen=True)
class Said:
    """The words for the n notes of one review row, and what is needed to say who says them.

    Parameters
    ----------
    stroke, colour
        What is said of each.
    unnamed
        The switch of unknown meaning in force at each note, -1 for none, shape (n,).
    """

    role: Role
    switches: tuple[Switch, ...]
    stroke: Word
    colour: Word
    unnamed: NDArray[np.int64]


def collect_evidence(music: SwitchedMusic, role: Role, choice: TrackChoice) -> Said:
    """A switch or the brief counts more than a program, a program more than a name.

    Parameters
    ----------
    music
        The n notes of one review row and its switches.
    role, choice
        What its name and the brief say.

    Returns
    -------
    For each note the strongest word for its stroke, and the strongest for its colour.

    Source: precedence of the kinds of evidence is common practice, no source.
    """
    notes, in_force = music.notes, music.in_force
    words = [switch.articulation for switch in in_force.switches]
    texts = ((choice.articulation, CERTAIN, BRIEF), (role.articulation, EVIDENCE.name, NAME))
    stroke = _Saying(len(notes), ARTICULATIONS)
    stroke.say_switches(words, in_force.stroke)
    stroke.say_texts(texts[:1])
    for program, name in PROGRAM_STROKES.items():
        rows = notes.program == program
        stroke.say(rows, name, EVIDENCE.program, PROGRAM, program)
    stroke.say_texts(texts[1:])
    colour = _Saying(len(notes), COLOURS)
    colour.say_switches(words, in_force.colour)
    colour.say_texts(texts)
    return Said(role, in_force.switches, stroke.word(), colour.word(), music.found_in_force)


class _Saying:
    """One respect, filled from the strongest kind of evidence down."""

    def __init__(self, count: int, names: tuple[str, ...]) -> None:
        self.names = names
        self.code = np.full(count, -1, np.int8)
        self.weight = np.zeros(count)
        self.source = np.zeros(count, np.int8)
        self.detail = np.zeros(count, np.int64)

    def say(
        self, rows: NDArray[np.bool_], name: str | None, weight: float, source: int, detail: int = 0
    ) -> None:
        """Say it of those rows about which nothing is said yet; words of another kind are none."""
        # A colour is no stroke, although the list of articulations holds both.
        if name not in self.names or (name in COLOURS) != (self.names == COLOURS):
            return
        free = rows & (self.code < 0)
        self.code[free] = self.names.index(name)
        self.weight[free], self.source[free], self.detail[free] = weight, source, detail

    def say_switches(self, words: list[str], in_force: NDArray[np.int64]) -> None:
        for number, name in enumerate(words):
            self.say(in_force == number, name, CERTAIN, SWITCH, number)

    def say_texts(self, texts: tuple[tuple[str | None, float, int], ...]) -> None:
        everywhere = np.ones(len(self.code), np.bool_)
        for name, weight, source in texts:
            self.say(everywhere, name, weight, source)

    def word(self) -> Word:
        return Word(self.code, self.weight, self.source, self.detail)
