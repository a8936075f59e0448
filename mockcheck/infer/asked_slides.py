"""Slides that are asked for by a switch or a controller, their shape left to the sampler."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.onsets import first_rows, group_onsets
from mockcheck.infer.switches import SwitchesInForce
from mockcheck.model.notes import Notes
from mockcheck.model.played import Role, Slide
from mockcheck.model.score import ChannelCurves, Track
from mockcheck.params import Params, quantity

PORTAMENTO_TIME, PORTAMENTO, PORTAMENTO_CONTROL = 5, 65, 84
"""Controllers. Source: MIDI 1.0 Detailed Specification 4.2, Control Change, Table III."""


class AskedSlideParams(Params):
    """What is supposed of a slide whose shape the file does not hold."""

    usual_s: float = quantity(
        0.12,
        unit="s",
        low=0.06,
        high=0.5,
        meaning="how long such a slide is taken to be",
        source="typical audible slide of violinists today, from memory",
    )
    least_semitones: float = quantity(
        1, unit="semitones", low=0.5, high=3, meaning="a repeated note does not slide"
    )
    touching_s: float = quantity(
        0.01, unit="s", low=0, high=0.1, meaning="notes with a longer gap are not slurred"
    )
    switch_trust: float = quantity(
        0.8, unit="confidence", low=0, high=1, meaning="a switch the brief names as a slide"
    )
    controller_trust: float = quantity(
        0.6,
        unit="confidence",
        low=0,
        high=1,
        meaning="controllers 5, 65 and 84, which not every sampler obeys",
    )
    soft_velocity: float = quantity(
        30,
        unit="velocity",
        low=1,
        high=64,
        meaning="legato notes touched no harder than this may ask for a slow join",
    )
    soft_share: float = quantity(
        0.5,
        unit="share of the velocity around",
        low=0.1,
        high=0.9,
        meaning="if a note just before and one just after are struck so much harder; a soft passage"
        " asks for nothing",
    )
    overlap_trust: float = quantity(
        0.5,
        unit="confidence",
        low=0,
        high=1,
        meaning="a soft touch over an overlap, which may as well be a soft note",
    )


ASKED = AskedSlideParams()
_TRUST = {
    "switch": ASKED.switch_trust,
    "portamento-switch": ASKED.controller_trust,
    "overlap": ASKED.overlap_trust,
}
_SWITCH_ON = 64
"""From this value on a switch is on. Source: as above."""


def find_asked_slides(
    notes: Notes, role: Role, track: Track, in_force: SwitchesInForce, taken: frozenset[int]
) -> list[Slide]:
    """Each slurred join slides while portamento is on, and a source key makes one note slide.

    Where nothing else asks, a soft touch of a note that overlaps the one before does.

    Parameters
    ----------
    notes
        The music of one review row, in time order.
    in_force
        The brief's switches at each note; those named portamento or glissando count.
    taken
        Notes that a slide in the bend already leads to.

    Returns
    -------
    In time order; note indices are rows of `notes`. Their length is a guess.

    Source: MIDI 1.0 Detailed Specification 4.2, Portamento and Portamento Control.
    """
    left, right = _slurred_joins(notes)
    slides = {
        int(right[row]): _asked(notes, role, track, (int(left[row]), int(right[row])), "overlap")
        for row in np.flatnonzero(_is_soft_overlap(notes, left, right)).tolist()
    }
    for row in np.flatnonzero(_is_on(notes, role, track, right)).tolist():
        slides[int(right[row])] = _asked(
            notes, role, track, (int(left[row]), int(right[row])), "portamento-switch"
        )
    slides |= {slide.to_note: slide for slide in _from_source_keys(notes, role, track)}
    for row in np.flatnonzero(in_force.slide[right] >= 0).tolist():
        pair = int(left[row]), int(right[row])
        kind = in_force.switches[int(in_force.slide[pair[1]])].articulation
        slides[pair[1]] = _asked(notes, role, track, pair, "switch", kind)
    return [slides[note] for note in sorted(slides) if note not in taken]


def _slurred_joins(notes: Notes) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Top notes of onsets that follow each other without a gap, at different pitches."""
    first = first_rows(group_onsets(notes.onset_s, notes.release_s))
    tops = np.append(first[1:], len(notes))[: len(first)] - 1
    left, right = tops[:-1], tops[1:]
    onset_s = notes.onset_s[first[1:]]
    touches = notes.release_s[left] >= onset_s - ASKED.touching_s
    interval = np.abs(notes.pitch[right].astype(np.int64) - notes.pitch[left])
    chosen = touches & (interval >= ASKED.least_semitones)
    return left[chosen].astype(np.int64), right[chosen].astype(np.int64)


def _is_soft_overlap(
    notes: Notes, left: NDArray[np.int64], right: NDArray[np.int64]
) -> NDArray[np.bool_]:
    """Where a note overlaps the one before and is far softer than the notes around.

    Source: common practice of legato instruments, whose velocity sets the speed of the join.
    """
    soft = notes.velocity[right] <= ASKED.soft_velocity
    found: NDArray[np.bool_] = soft & (notes.release_ticks[left] > notes.onset_ticks[right])
    for row in np.flatnonzero(found).tolist():
        note = int(right[row])
        # Two notes to either side: the next may slide as well.
        sides = notes.velocity[max(note - 2, 0) : note], notes.velocity[note + 1 : note + 3]
        harder = min(int(side.max()) for side in sides if len(side))
        found[row] = notes.velocity[note] <= ASKED.soft_share * harder
    return found


def _is_on(notes: Notes, role: Role, track: Track, rows: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Where portamento is switched on and takes time."""
    is_on = np.zeros(len(rows), np.bool_)
    for channel in role.channels:
        curves = track.curves(channel)
        if PORTAMENTO in curves.controllers and PORTAMENTO_TIME in curves.controllers:
            own = notes.channel[rows] == channel
            is_on |= own & _switched_on(curves, notes.onset_ticks[rows])
    return is_on


def _switched_on(curves: ChannelCurves, ticks: NDArray[np.int64]) -> NDArray[np.bool_]:
    switch = curves.controller(PORTAMENTO).value_at_ticks(ticks)
    return (switch >= _SWITCH_ON) & (curves.controller(PORTAMENTO_TIME).value_at_ticks(ticks) > 0)


def _from_source_keys(notes: Notes, role: Role, track: Track) -> Iterator[Slide]:
    """Controller 84 names the key from which the next note of its channel slides, once."""
    for channel in role.channels:
        curve = track.curves(channel).controller(PORTAMENTO_CONTROL)
        rows = np.flatnonzero(notes.channel == channel)
        if len(curve) == 0 or len(rows) == 0:
            continue
        place = np.searchsorted(notes.onset_ticks[rows], curve.ticks, side="left")
        source_of = {
            int(rows[p]): int(key)
            for p, key in zip(place.tolist(), curve.values.tolist(), strict=True)
            if p < len(rows)
        }
        for note, key in source_of.items():
            if abs(key - int(notes.pitch[note])) >= ASKED.least_semitones:
                source = _latest_of_pitch(notes, note, key)
                yield _asked(notes, role, track, (source, note), "portamento-switch", key=key)


def _latest_of_pitch(notes: Notes, note: int, pitch: int) -> int:
    """The note just before that has the pitch, else the note itself."""
    earlier = np.flatnonzero(notes.onset_ticks < notes.onset_ticks[note])
    earlier = earlier[notes.pitch[earlier] == pitch][-1:]
    is_near = notes.release_s[earlier] >= notes.onset_s[note] - ASKED.usual_s
    return int(earlier[0]) if len(earlier) and is_near[0] else note


def _asked(
    notes: Notes,
    role: Role,
    track: Track,
    pair: tuple[int, int],
    source: str,
    kind: str = "portamento",
    key: int | None = None,
) -> Slide:
    left, right = pair
    begin_s = float(notes.onset_s[right])
    length_s = min(ASKED.usual_s, float(notes.duration_s[right]))
    release = int(track.timeline.tempo.ticks_at(np.array([begin_s + length_s]))[0])
    onset = int(notes.onset_ticks[right])
    return Slide(
        track=role.index,
        from_note=left,
        to_note=right,
        onset_ticks=onset,
        release_ticks=max(release, onset + 1),
        from_pitch=float(notes.pitch[left] if key is None else key),
        to_pitch=float(notes.pitch[right]),
        duration_ms=round(1000 * length_s, 1),
        kind=kind,
        source=source,
        confidence=_TRUST[source],
    )
