"""A melody of a long cue that a lower string would hold whole."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from mockcheck.checks._levels import instrument_family
from mockcheck.checks._registry import score_check
from mockcheck.checks._textures import Texture, has_dynamics, passages_of
from mockcheck.infer.fingering import solve
from mockcheck.infer.headroom import time_factor
from mockcheck.infer.search import Line, prepare
from mockcheck.model.finding import Evidence, Observation, Severity
from mockcheck.model.played import PlayedPart
from mockcheck.params import Params, quantity
from mockcheck.playing.fingerboard import Fingerboard, fingerboard
from mockcheck.playing.hand import hand_for
from mockcheck.playing.times import MotionTimes
from mockcheck.playing.transitions import Pitches

_REMEMBERED = "from memory; a matter of taste, so the limits are high"


class MelodyFitsLowerString(Params):
    """Limits of the check."""

    long_cue_s: float = quantity(
        120,
        unit="s",
        low=30,
        high=3600,
        meaning="in a shorter cue nobody misses a colour",
        source=_REMEMBERED,
    )
    soft_below: float = quantity(
        69,
        unit="loudness 0-127",
        low=1,
        high=127,
        meaning="mean of a melody that is soft: mp or less; mf begins here",
        source="the product's own table of dynamics",
    )
    melody_s: float = quantity(
        8, unit="s", low=2, high=600, meaning="a shorter phrase is not worth a string of its own"
    )
    melody_notes: float = quantity(
        8, unit="notes", low=4, high=200, meaning="nor is one of fewer notes"
    )
    melody_pitches: float = quantity(
        5, unit="pitches", low=2, high=24, meaning="fewer different ones are a figure, no melody"
    )
    mean_note_s: float = quantity(
        0.5, unit="s", low=0.1, high=10, meaning="notes of a slow melody are this long on average"
    )
    phrase_rest_s: float = quantity(
        0.3, unit="s", low=0.05, high=10, meaning="a longer silence ends a phrase"
    )
    highest_stop_semitones: float = quantity(
        12,
        unit="semitones above the open string",
        low=5,
        high=24,
        meaning="highest note on the lower string that a section plays with ease",
        source="the octave, in fifth position on the violin; printed passages go further up;"
        " from memory",
    )
    comfort: float = quantity(
        0.5,
        unit="time needed over time there is",
        low=0.05,
        high=1,
        meaning="on one string every shift has this much of its time at most",
    )
    elsewhere_share: float = quantity(
        0.5,
        unit="share of the melody's time",
        low=0.1,
        high=1,
        meaning="so much of it lies on higher strings otherwise; else nothing would change",
    )


@dataclass(frozen=True)
class _OnString:
    """A melody on one string: its letter, the highest stop, and the tightest shift."""

    letter: str
    highest_stop: int
    ratio: float


@score_check(
    id="melody-fits-lower-string",
    family="realism",
    severity=Severity.REMARK,
    title="A slow melody of a long cue fits one lower string whole.",
    params=MelodyFitsLowerString,
)
def find(
    parts: tuple[PlayedPart, ...], p: MelodyFitsLowerString
) -> Iterator[tuple[PlayedPart, Observation]]:
    """Find the one melody of a long cue that could lie on a lower string for a darker sound.

    Why a player minds: nobody does; it is an offer. The same notes higher up a lower string sound
    darker and warmer, every shift can be heard, and no mock-up shows it unless somebody asks.
    Measured: soft, slow phrases of single notes, the highest voice at that time, whose every note
    can be stopped on one lower string, with half the time to spare for every movement of the hand
    (the search over fingerings, on that string alone). Only in a cue of two minutes or more, only
    where dynamics are drawn, and once a cue: the longest phrase.
    Fine when: the brighter string is meant, or the cue is short. Double basses are left out.
    Source: what each string can hold is the playing model; what suits is taste, common practice.
    """
    with_notes = [part for part in parts if len(part.notes)]
    onset_s = min((float(part.notes.onset_s[0]) for part in with_notes), default=0.0)
    cue_s = max((float(part.notes.release_s.max()) for part in with_notes), default=0.0) - onset_s
    if cue_s < p.long_cue_s:
        return
    melodies = [
        (part, melody)
        for part in with_notes
        if has_dynamics(part) and instrument_family(part) != "double bass"
        for melody in _melodies(part, p)
        if _is_highest(part, melody, with_notes)
    ]
    for part, melody in sorted(melodies, key=lambda row: (-row[1].lasts_s, row[0].name)):
        on_string = _on_lower_string(part, melody, p)
        if on_string is not None:
            yield part, _observe(part, melody, on_string, p)
            return


def _observe(
    part: PlayedPart, melody: Texture, on_string: _OnString, p: MelodyFitsLowerString
) -> Observation:
    rows = list(melody.note_indices)
    top = part.pitch_name(int(part.notes.pitch[rows].max()))
    return Observation(
        note_indices=melody.note_indices,
        message=(
            f"This melody of {melody.lasts_s:.0f} s fits the {on_string.letter} string whole, up to"
            f" {top}; there it would sound darker than across the strings."
        ),
        suggestion=f"Write 'sul {on_string.letter}' over it; or leave the strings to the players.",
        evidence=(
            Evidence(
                "highest note on the string",
                on_string.highest_stop,
                p.highest_stop_semitones,
                "semitones",
            ),
            Evidence(
                "time needed over time there is", round(on_string.ratio, 3), p.comfort, "ratio"
            ),
        ),
        confidence=float(part.articulation.confidence[rows].mean()),
    )


def _melodies(part: PlayedPart, p: MelodyFitsLowerString) -> Iterator[Texture]:
    notes = part.notes
    loudness = notes.velocity if part.loudness is None else part.loudness
    sings = part.articulation.is_any("legato", "detache", "portato")
    for phrase in passages_of(part, sings, p.phrase_rest_s):
        rows = list(phrase.note_indices)
        is_one_line = len(np.unique(notes.onset_ticks[rows])) == len(rows)
        if (
            is_one_line
            and phrase.lasts_s >= p.melody_s
            and len(rows) >= p.melody_notes
            and len(np.unique(notes.pitch[rows])) >= p.melody_pitches
            and phrase.lasts_s / len(rows) >= p.mean_note_s
            and float(loudness[rows].mean()) < p.soft_below
        ):
            yield phrase


def _is_highest(part: PlayedPart, melody: Texture, parts: list[PlayedPart]) -> bool:
    """Whether no other part lies above it most of the time."""
    rows = list(melody.note_indices)
    onset_s, release_s = part.notes.onset_s[rows[0]], part.notes.release_s[rows].max()
    middle = float(np.median(part.notes.pitch[rows]))
    for other in parts:
        sounds = (other.notes.onset_s < release_s) & (other.notes.release_s > onset_s)
        pitch = other.notes.pitch[sounds]
        if other is not part and len(pitch) and float(np.median(pitch)) >= middle:
            return False
    return True


def _on_lower_string(
    part: PlayedPart, melody: Texture, p: MelodyFitsLowerString
) -> _OnString | None:
    """The lowest string that holds the melody with ease, where most of it lies higher now."""
    if part.fingering is None:
        return None
    rows = np.array(melody.note_indices)
    board = fingerboard(part.instrument)
    pitch, length_s = part.notes.pitch[rows].astype(int), part.notes.duration_s[rows]
    lies_on = part.fingering.string_index[rows]
    for string in range(len(board.open_strings) - 1, 0, -1):
        stops = pitch - board.open_strings[string]
        is_higher = (lies_on >= 0) & (lies_on < string)
        share = float(length_s[is_higher].sum() / max(length_s.sum(), 1e-9))
        if stops.min() < 1 or stops.max() > p.highest_stop_semitones or share < p.elsewhere_share:
            continue
        ratio = _tightest(part, rows.tolist(), board, string)
        if ratio <= p.comfort:
            return _OnString(board.string_letter(string), int(stops.max()), ratio)
    return None


def _tightest(part: PlayedPart, rows: list[int], board: Fingerboard, string: int) -> float:
    """Time needed over time there is of the tightest movement on one string alone."""
    alone = Fingerboard((board.open_strings[string],), board.string_length_mm)
    events: list[Pitches] = [(int(part.notes.pitch[row]),) for row in rows]
    strokes = ["slurred"] * len(rows)
    line = Line(events, part.notes.onset_s[rows], strokes)
    search = prepare(alone, hand_for(board.string_length_mm), line, MotionTimes())
    return float(solve(search, time_factor(part.session)).burst.max())
