"""Trills wider or faster than a hand makes them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from mockcheck.checks._levels import instrument_family
from mockcheck.checks._registry import check
from mockcheck.infer.overlaps import find_note_ends
from mockcheck.model.columns import stretches
from mockcheck.model.finding import Evidence, Observation, Severity
from mockcheck.model.instrument import Instrument
from mockcheck.model.played import PlayedPart
from mockcheck.params import Params, quantity
from mockcheck.playing.chords import chord
from mockcheck.playing.demands import LOW_STRING_TOP_SEMITONES, SECTION_TOP_SEMITONES
from mockcheck.playing.fingerboard import fingerboard
from mockcheck.playing.hand import hand_for


class TrillTooWide(Params):
    """Limits of the check; how far the fingers open is part of the playing model."""

    easy_semitones: float = quantity(
        2,
        unit="semitones",
        low=1,
        high=12,
        meaning="two fingers side by side trill as far as this on every instrument",
    )
    trill_semitones: float = quantity(
        3,
        unit="semitones",
        low=1,
        high=12,
        meaning="beyond this it is a tremolo between two notes, no trill",
    )
    slowest_notes_per_s: float = quantity(
        8,
        unit="notes/s",
        low=2,
        high=30,
        meaning="slower alternations are ordinary notes",
        source="slowest trill of violin and cello, from memory",
    )
    fewest_notes: float = quantity(
        6, unit="notes", low=4, high=64, meaning="fewer alternating notes are a turn"
    )
    violin_notes_per_s: float = quantity(
        16,
        unit="notes/s",
        low=2,
        high=40,
        meaning="fastest trill, violin",
        source="from memory; piano trills reach about 14 (Moore, Music Perception 9, 1992)",
    )
    viola_notes_per_s: float = quantity(
        14, unit="notes/s", low=2, high=40, meaning="fastest trill, viola", source="from memory"
    )
    cello_notes_per_s: float = quantity(
        13, unit="notes/s", low=2, high=40, meaning="fastest trill, cello", source="from memory"
    )
    double_bass_notes_per_s: float = quantity(
        10, unit="notes/s", low=2, high=40, meaning="fastest trill, bass", source="from memory"
    )


@dataclass(frozen=True)
class _Alternation:
    """Two pitches in turn: its notes and their rate."""

    rows: tuple[int, ...]
    low: int
    high: int
    notes_per_s: float


@dataclass(frozen=True)
class _Width:
    """How hard it is to alternate two pitches, why, and the number that says so."""

    severity: Severity
    why: str
    evidence: Evidence


@check(
    id="trill-too-wide",
    family="speed",
    severity=Severity.AWKWARD,
    title="A trill is wider or faster than fingers trill.",
    params=TrillTooWide,
)
def find(part: PlayedPart, p: TrillTooWide) -> Iterator[Observation]:
    """Find two notes in quick turn that lie too far apart, or come too quickly, for a trill.

    Why a player minds: a trill is one finger beating beside another that stays down; when the
    notes lie far apart the hand opens and tires, or the bow has to rock between two strings.
    Measured: distance in mm between the two stops on the easiest string, against what fingers of
    this instrument's hand open to, and notes per second. Above a whole tone: a remark while one
    finger stands between the two, awkward for the whole hand or across two strings, risky where
    neither goes. Awkward, too, when faster than any trill.
    Fine when: the lower note is the open string of both, or the figure has fewer than six notes.
    Source: reaches of the playing model; trill rates from memory, named with each limit.
    """
    fastest = {
        "viola": p.viola_notes_per_s,
        "cello": p.cello_notes_per_s,
        "double bass": p.double_bass_notes_per_s,
    }.get(instrument_family(part), p.violin_notes_per_s) * part.session.tempo_share
    for role in part.roles:
        for found in _alternations(part, role.index, p):
            width = _width(part.instrument, found.low, found.high, p)
            is_fast = found.notes_per_s > fastest + 1e-6
            if width is not None or is_fast:
                yield _observe(part, found, width, fastest, p)


def _alternations(part: PlayedPart, track: int, p: TrillTooWide) -> Iterator[_Alternation]:
    rows = np.flatnonzero(part.track == track)
    onset_s = part.notes.onset_s[rows]
    first = find_note_ends(part.notes.select(rows)).first_note
    is_single = np.diff(np.append(first, len(rows))) == 1
    is_single &= ~part.articulation.is_any("pizzicato")[rows[first]]
    pitch = part.notes.pitch[rows[first]].astype(np.int64)
    # A hair of room, since whole ticks make rates uneven.
    is_quick = np.diff(onset_s[first]) <= 1.02 / p.slowest_notes_per_s
    turns = (pitch[2:] == pitch[:-2]) & (pitch[1:-1] != pitch[:-2])
    turns &= is_quick[1:] & is_quick[:-1]
    turns &= is_single[2:] & is_single[1:-1] & is_single[:-2]
    for begin, end in stretches(turns):
        # A run of n turns spans n + 2 notes.
        members = rows[first[begin : end + 2]]
        if len(members) < p.fewest_notes:
            continue
        span_s = float(part.notes.onset_s[members[-1]] - part.notes.onset_s[members[0]])
        yield _Alternation(
            rows=tuple(members.tolist()),
            low=int(pitch[begin : begin + 2].min()),
            high=int(pitch[begin : begin + 2].max()),
            notes_per_s=(len(members) - 1) / max(span_s, 1e-6),
        )


def _width(instrument: Instrument, low: int, high: int, p: TrillTooWide) -> _Width | None:
    """None where two neighbouring fingers, or one beside an open string, do it."""
    board = fingerboard(instrument)
    # A note that no string has is the range's question.
    is_there = all(
        any(board.has_on_string(string, pitch) for string in range(len(board.open_strings)))
        for pitch in (low, high)
    )
    if high - low <= p.easy_semitones or not is_there:
        return None
    hand = hand_for(board.string_length_mm)
    places_mm = board.places_mm
    distances_mm = [
        places_mm[high - string] - places_mm[low - string] if low > string else 0.0
        for index, string in enumerate(board.open_strings)
        if low >= string
        and high - string
        <= (SECTION_TOP_SEMITONES if index < hand.high_strings else LOW_STRING_TOP_SEMITONES)
    ]
    narrowest_mm = min(distances_mm, default=float("inf"))
    if narrowest_mm == 0:
        return None
    *_, near_mm, whole_mm = hand.comfortable_mm
    evidence = Evidence("distance between the fingers", round(narrowest_mm, 1), near_mm, "mm")
    if narrowest_mm <= near_mm:
        why = f"the fingers stand {narrowest_mm:.0f} mm apart, so it beats slower"
        return _Width(Severity.REMARK, why, evidence)
    if narrowest_mm <= whole_mm:
        why = f"the fingers stand {narrowest_mm:.0f} mm apart, which takes the whole hand"
        return _Width(Severity.AWKWARD, why, evidence)
    answer = chord(instrument, (low, high))
    evidence = Evidence("interval", high - low, p.easy_semitones, "semitones")
    if answer.is_playable:
        # One finger across both strings, as in a fifth, leaves all the work to the bow.
        is_light = answer.verdict == "easy" or answer.stretch_mm == 0
        severity = Severity.REMARK if is_light else Severity.AWKWARD
        return _Width(severity, "the bow has to rock between two strings", evidence)
    return _Width(Severity.RISKY, "no hand reaches both notes", evidence)


def _observe(
    part: PlayedPart, found: _Alternation, width: _Width | None, fastest: float, p: TrillTooWide
) -> Observation:
    low, high = part.pitch_name(found.low), part.pitch_name(found.high)
    is_trill = found.high - found.low <= p.trill_semitones
    name = "trill" if is_trill else "tremolo between two notes"
    evidence, reasons = [], []
    severity = Severity.REMARK
    if width is not None:
        evidence.append(width.evidence)
        reasons.append(width.why)
        severity = width.severity
    if found.notes_per_s > fastest + 1e-6:
        rate = round(found.notes_per_s, 2)
        evidence.append(Evidence("notes per second", rate, fastest, "notes/s"))
        reasons.append(f"{found.notes_per_s:.1f} notes a second are more than anyone trills")
        severity = max(severity, Severity.AWKWARD)
    suggestion = "Write it as a trill sign and let the players choose the speed, or slow it down."
    if width is not None:
        suggestion = (
            "Let two desks play it, one note each in tremolo, slow it down, or bring the notes"
            " nearer together; where the stretch hurts, the player decides."
        )
    return Observation(
        note_indices=found.rows,
        message=f"A {name}, {low} and {high}: {'; '.join(reasons)}.",
        suggestion=suggestion,
        evidence=tuple(evidence),
        severity=severity,
    )
