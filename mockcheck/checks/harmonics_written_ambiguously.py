"""Harmonics that could be written as they sound or as they are fingered."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mockcheck.checks._registry import check
from mockcheck.model.finding import Evidence, Observation, Severity
from mockcheck.model.played import PlayedPart
from mockcheck.model.session import Level
from mockcheck.params import Params, quantity
from mockcheck.playing.harmonics import HarmonicWay, harmonics

_SOUNDS_ABOVE_FINGER = (12, 19, 24)
"""A touched fifth sounds an octave above the finger, a touched fourth or sixth a twelfth above it;
a touched third, and a fourth above a stopped note, two octaves above the firm or light finger."""
_FOURTH_ABOVE_STOP_PARTIAL = 4


class HarmonicsWrittenAmbiguously(Params):
    """Limits of the check."""

    tolerance_cents: float = quantity(
        35,
        unit="cents",
        low=0,
        high=50,
        meaning="how far a partial may lie from the tempered note and still count as it",
        source="the seventh partial lies 31 cents flat (arithmetic)",
    )


@dataclass(frozen=True)
class _Readings:
    """One note of a track in both ways, each None where no player does that without trouble."""

    sounding: HarmonicWay | None
    fingered: HarmonicWay | None


@check(
    id="harmonics-written-ambiguously",
    family="reading",
    severity=Severity.AWKWARD,
    title="Harmonics could be meant as they sound or as they are fingered.",
    params=HarmonicsWrittenAmbiguously,
)
def find(part: PlayedPart, p: HarmonicsWrittenAmbiguously) -> Iterator[Observation]:
    """Find tracks of harmonics whose notes make sense both as sounds and as places of the finger.

    Why a player minds: the same note head is a soft octave to one player and a whistle two octaves
    higher to the next; a section that has to ask loses the take.
    Measured: for every harmonic of a track, whether its pitch can be what sounds, and whether it
    can be where a finger touches an open string or stops below a touched fourth, each without
    trouble. One note that can be only one of the two settles its whole track. Awkward at sight, a
    remark for players who have time to ask. Reported once a track.
    Fine when: the page will say which, with a small circle, a diamond or the sound in brackets.
    Source: nodes by arithmetic, k/n of the string; mock-ups and scores use both ways of writing
    (common practice, no source).
    """
    is_harmonic = part.articulation.is_any("harmonic")
    for track in np.unique(part.track[is_harmonic]).tolist():
        rows = np.flatnonzero(is_harmonic & (part.track == track))
        pitches = np.unique(part.notes.pitch[rows]).tolist()
        readings = {pitch: _read(part, pitch, p) for pitch in pitches}
        if all(both.sounding and both.fingered for both in readings.values()):
            yield _observe(part, rows, readings)


def _read(part: PlayedPart, pitch: int, p: HarmonicsWrittenAmbiguously) -> _Readings:
    def ways(sound: int) -> list[HarmonicWay]:
        found = harmonics(
            part.instrument,
            sound,
            middle_c_octave=part.session.middle_c_octave,
            tolerance_cents=p.tolerance_cents,
        )
        return [way for way in found if way.verdict != "hard"]

    above = [sound for sound in (pitch + up for up in _SOUNDS_ABOVE_FINGER) if sound <= 127]
    fingered = [way for sound in above for way in ways(sound) if _is_fingered_at(way, pitch)]
    # An open string touched somewhere is told before a stop, and is what a page most often means.
    fingered.sort(key=lambda way: (way.kind == "artificial", way.verdict != "easy", way.partial))
    return _Readings(next(iter(ways(pitch)), None), next(iter(fingered), None))


def _is_fingered_at(way: HarmonicWay, pitch: int) -> bool:
    """Whether a note on the page at this pitch is the finger of this way."""
    if way.kind == "artificial":
        return way.stopped_pitch == pitch and way.partial == _FOURTH_ABOVE_STOP_PARTIAL
    # Nodes between two notes have no note head of their own.
    return way.touched_pitch == pitch and len(way.notations) > 1


def _observe(
    part: PlayedPart, rows: NDArray[np.int64], readings: dict[int, _Readings]
) -> Observation:
    pitch = int(part.notes.pitch[rows[0]])
    sounding, fingered = readings[pitch].sounding, readings[pitch].fingered
    assert sounding is not None
    assert fingered is not None
    name, high = part.pitch_name(pitch), part.pitch_name(fingered.sounding_pitch)
    place = (
        f"the place touched on the open {fingered.string} string"
        if fingered.kind == "natural"
        else f"the note stopped on the {fingered.string} string below a touched fourth"
    )
    others = f" So could all {len(rows)} harmonics of this track." if len(rows) > 1 else ""
    is_at_sight = part.session.level is Level.SIGHT
    return Observation(
        note_indices=tuple(rows.tolist()),
        message=(
            f"The harmonic {name} could be what sounds, or {place}, which sounds {high}.{others}"
        ),
        suggestion=(
            f"Write {_written(part, sounding)}, if {name} is to sound, or"
            f" {_written(part, fingered, as_fingered=True)}, if {high} is."
        ),
        evidence=(Evidence("readings that can be played", 2, 1, "readings"),),
        confidence=float(part.articulation.confidence[rows].min()),
        severity=Severity.AWKWARD if is_at_sight else Severity.REMARK,
    )


def _written(part: PlayedPart, way: HarmonicWay, *, as_fingered: bool = False) -> str:
    """The plainest notation; one that shows the fingers has the sound beside it."""
    sound = f"with {part.pitch_name(way.sounding_pitch)} small in brackets"
    if way.kind == "artificial":
        return f"{way.notations[0]}, {sound}"
    return f"{way.notations[1]}, {sound}" if as_fingered else way.notations[0]
