"""Notes higher than these players should be asked for."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from mockcheck.checks._levels import is_soloist
from mockcheck.checks._registry import check
from mockcheck.model.columns import stretches
from mockcheck.model.finding import Evidence, Observation, Severity
from mockcheck.model.played import PlayedPart
from mockcheck.model.session import Level
from mockcheck.params import Params, quantity


class NoteAboveRange(Params):
    """Limits of the check."""

    highest_harmonic_semitones: float = quantity(
        40,
        unit="semitones above the highest open string",
        low=24,
        high=60,
        meaning="above this not even a harmonic speaks",
        source="tenth partial of the string by arithmetic; that players stop there is common"
        " practice, no source",
    )


@check(
    id="note-above-range",
    family="range",
    severity=Severity.RISKY,
    title="A note lies higher than these players should be asked for.",
    params=NoteAboveRange,
    needs_strings=False,
)
def find(part: PlayedPart, p: NoteAboveRange) -> Iterator[Observation]:
    """Find notes above the comfortable, section or solo top.

    Why a player minds: up there a millimetre is a semitone; a section is never together in tune,
    and a soloist needs to have practised the place.
    Measured: sounding pitch against three tops of the instrument. A section at sight: awkward above
    the comfortable top (a remark when rehearsed), risky above the section top, impossible above
    the solo top. A single player or level solo: a remark above the section top, risky above the
    solo top, impossible where not even a harmonic speaks.
    Fine when: the note is a harmonic, which may lie anywhere up to the highest partial.
    Source: Prout, The Orchestra vol. 1 (1899) p. 19, and Widor, Technique of the Modern Orchestra
    (1906) p. 175, as listed with each instrument; comfortable tops of violin and viola from memory.
    """
    notes, instrument = part.notes, part.instrument
    harmonic_top = max(instrument.open_strings) + p.highest_harmonic_semitones
    tops = _tops(part, harmonic_top)
    pitch = np.where(part.articulation.is_any("harmonic"), -1, notes.pitch)
    beyond = notes.pitch > harmonic_top
    degree = np.where(beyond, notes.pitch, pitch)[:, None] > [limit for limit, _, _ in tops]
    for first, after in stretches(degree[:, 0]):
        rows = np.arange(first, after)
        reached = int(degree[rows].any(axis=0).sum()) - 1
        limit, severity, kind = tops[reached]
        rows = rows[degree[rows, reached]]
        highest = int(notes.pitch[rows].max())
        yield Observation(
            note_indices=tuple(rows.tolist()),
            message=(
                f"{part.pitch_name(highest)} lies above {part.pitch_name(limit)}, {kind} of the"
                f" {instrument.id}."
            ),
            suggestion=_suggestion(part, severity),
            evidence=(Evidence("highest pitch", highest, limit, "MIDI pitch"),),
            severity=severity,
        )


def _tops(part: PlayedPart, harmonic_top: float) -> list[tuple[float, Severity, str]]:
    """Rising limits with the severity above each and what the limit is."""
    instrument = part.instrument
    if is_soloist(part):
        return [
            (instrument.section_top, Severity.REMARK, "the top of a section"),
            (instrument.solo_top, Severity.RISKY, "the top even for soloists"),
            (harmonic_top, Severity.IMPOSSIBLE, "the last harmonic that speaks"),
        ]
    at_sight = part.session.level is Level.SIGHT
    return [
        (
            instrument.comfortable_top,
            Severity.AWKWARD if at_sight else Severity.REMARK,
            "the comfortable top",
        ),
        (instrument.section_top, Severity.RISKY, "the top of a professional section"),
        (instrument.solo_top, Severity.IMPOSSIBLE, "the top even for soloists"),
    ]


def _suggestion(part: PlayedPart, severity: Severity) -> str:
    if severity <= Severity.AWKWARD:
        return "Keep it if the height is the point; otherwise put it an octave lower."
    higher = {"viola": "the violins", "cello": "the violas", "double bass": "the cellos"}
    family = part.instrument.id.removesuffix(" 5-string").removesuffix(" C extension")
    other = higher.get(family, "a solo player")
    return f"Put it an octave lower, give it to {other}, or write a harmonic."
