"""What the MIDI programs of a row say about who plays it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np

from mockcheck.instruments import vocabulary
from mockcheck.model.notes import Notes
from mockcheck.read.track_names import ENSEMBLE


@dataclass(frozen=True)
class ProgramSays:
    """The program in force at most of the notes.

    Parameters
    ----------
    program
        Number from 0.
    instrument
        String instrument it stands for, 'strings' for a section, None for anything else.
    stroke
        'tremolo' or 'pizzicato' for a section program that plays only so, else ''.
    is_solo, is_synthetic
        True for one player; for a sound that does not mean to be real.
    """

    program: int
    instrument: str | None
    stroke: str = ""
    is_solo: bool = False
    is_synthetic: bool = False

    @property
    def name(self) -> str:
        """As General MIDI calls it."""
        return vocabulary().program_names[self.program]

    @property
    def label(self) -> str:
        """The same for programs of one player: the instrument, or the name of anything else."""
        return self.instrument or self.name


def program_says(notes: Notes) -> ProgramSays | None:
    """Programs stand for instruments where a file keeps to General MIDI.

    A part that changes between a solo program and the section programs for tremolo and
    pizzicato is the solo program's. None when no note had a program.

    Source: General MIDI System Level 1, instrument list.
    """
    counts = np.bincount(notes.program[notes.program >= 0], minlength=128)
    if not counts.any():
        return None
    said = [_known()[program] for program in np.flatnonzero(counts)]
    weight = {says.program: int(counts[says.program]) for says in said}
    strings = [says for says in said if says.instrument is not None]
    if 2 * sum(weight[says.program] for says in strings) < counts.sum():
        strings = []
    players = [says for says in strings if says.instrument != ENSEMBLE]
    others = [says for says in said if says.instrument is None]
    return max(players or strings or others, key=lambda says: weight[says.program])


@cache
def _known() -> tuple[ProgramSays, ...]:
    known = [ProgramSays(program, None) for program in range(128)]
    for instrument, naming in vocabulary().namings.items():
        if naming.variant_of is not None:
            continue
        for program in naming.programs:
            known[program] = ProgramSays(
                program,
                instrument,
                is_solo=program in naming.solo_programs,
                is_synthetic=program in naming.synthetic_programs,
            )
        for stroke, program in naming.stroke_programs.items():
            known[program] = ProgramSays(program, instrument, stroke)
    return tuple(known)
