"""Parts put together from tracks: switches out, tracks of one part merged, layer upon layer."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields, replace
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.articulation import articulate
from mockcheck.infer.asked_slides import find_asked_slides
from mockcheck.infer.bend_range import find_bend_range
from mockcheck.infer.bends import bend_at_onset, bend_curve, bend_travel
from mockcheck.infer.choices import choice_for
from mockcheck.infer.divisi import find_lines
from mockcheck.infer.dynamics import dynamics_curve, find_carriers, note_loudness
from mockcheck.infer.headroom import with_headroom
from mockcheck.infer.intonation import find_intonation
from mockcheck.infer.players import count_players
from mockcheck.infer.reading_load import with_reading_load
from mockcheck.infer.rhythm import with_rhythm
from mockcheck.infer.slides import find_bend_slides
from mockcheck.infer.sonorities import find_sonorities
from mockcheck.infer.spelled_parts import spell_parts
from mockcheck.infer.stroke_evidence import Said, collect_evidence
from mockcheck.infer.switches import SwitchedMusic, separate_in_rows
from mockcheck.infer.tails import find_part_ends
from mockcheck.instruments import instrument
from mockcheck.model.dynamics import DynamicsCurve
from mockcheck.model.instrument import Instrument
from mockcheck.model.intonation import Intonation
from mockcheck.model.notes import concatenate_notes
from mockcheck.model.played import (
    BendRange,
    PlayedPart,
    PlayedScore,
    Role,
    Slide,
)
from mockcheck.model.score import Score, Track
from mockcheck.model.session import Session, TrackChoice


def play(score: Score, session: Session, roles: tuple[Role, ...]) -> PlayedScore:
    """What players would do with a score.

    Parameters
    ----------
    score
        What the file says.
    session
        The brief.
    roles
        Who plays each row of the track list; rows left out stay out.

    Returns
    -------
    One part for each part name, in the order of the track list, with its switches taken out and
    its strokes, slides and sonorities found. A part may be without notes, when all were switches.
    """
    members: dict[str, list[Role]] = {}
    for role in roles:
        if role.left_out is None and role.instrument is not None:
            members.setdefault(role.part, []).append(role)
    choices = {role.index: choice_for(role, session.tracks) for role in roles}
    instruments = {part: instrument(rows[0].instrument or "") for part, rows in members.items()}
    players = count_players(members, instruments, choices, session)
    musics = separate_in_rows(score, roles, choices)
    parts = tuple(
        _play_part(score, session, rows, choices, musics, instruments[part], players[part])
        for part, rows in members.items()
    )
    parts = with_reading_load(spell_parts(score, with_rhythm(parts)))
    return PlayedScore(score, session, parts, roles)


Scalar = TypeVar("Scalar", bound=np.generic)


@dataclass(frozen=True)
class _Row:
    """One row of the track list as its players play it; indices are rows of its own notes."""

    music: SwitchedMusic
    said: Said
    slides: tuple[Slide, ...]
    bend_range: BendRange | None
    intonation: Intonation
    bend_at_onset_cents: NDArray[np.float64]
    bend_travel_cents: NDArray[np.float64]
    loudness: NDArray[np.float64]
    dynamics: tuple[DynamicsCurve, ...]


def _play_part(
    score: Score,
    session: Session,
    roles: Sequence[Role],
    choices: Mapping[int, TrackChoice],
    musics: Mapping[int, SwitchedMusic],
    player: Instrument,
    players: int,
) -> PlayedPart:
    rows = [
        _play_row(score.tracks[role.track_index], role, choices[role.index], musics[role.index])
        for role in roles
    ]
    notes, origin = concatenate_notes([row.music.notes for row in rows])
    # Merging keeps the order within a row, so its k-th note is its k-th place in the part.
    places = [np.flatnonzero(origin == number) for number in range(len(rows))]
    slides = [
        _moved(slide, place)
        for row, place in zip(rows, places, strict=True)
        for slide in row.slides
    ]
    articulated = articulate(notes, [row.said for row in rows], places)
    track = np.array([role.index for role in roles], np.int64)[origin]
    ends = find_part_ends(notes, track)
    sonorities = find_sonorities(notes, ends)
    part = PlayedPart(
        name=roles[0].part,
        instrument=player,
        players=players,
        roles=tuple(roles),
        session=session,
        timeline=score.tracks[roles[0].track_index].timeline,
        notes=notes,
        track=track,
        bend_at_onset_cents=_merge([row.bend_at_onset_cents for row in rows], places),
        bend_travel_cents=_merge([row.bend_travel_cents for row in rows], places),
        articulation=articulated.columns,
        zones=articulated.zones,
        slides=tuple(sorted(slides, key=lambda slide: (slide.onset_ticks, slide.track))),
        sonorities=sonorities,
        switches=tuple(switch for row in rows for switch in row.music.found),
        loudness=_merge([row.loudness for row in rows], places),
        dynamics=tuple(curve for row in rows for curve in row.dynamics),
        slur=articulated.slur,
        bend_ranges=tuple(row.bend_range for row in rows if row.bend_range is not None),
        intonation=_merged_intonation([row.intonation for row in rows], places),
        lines=find_lines(notes, track, ends, sonorities, player, players),
    )
    return with_headroom(part)


def _play_row(track: Track, role: Role, choice: TrackChoice, music: SwitchedMusic) -> _Row:
    notes, bend_range = music.notes, choice.bend_range_semitones
    found_range = None if bend_range is not None else find_bend_range(notes, role, track)
    range_trust = 1.0
    if found_range is not None:
        bend_range, range_trust = found_range.semitones, found_range.confidence
    slides = find_bend_slides(notes, role, track, bend_range, range_trust)
    taken = frozenset(slide.to_note for slide in slides)
    slides += find_asked_slides(notes, role, track, music.in_force, taken)
    switching = {switch.controller for switch in choice.switches if switch.controller is not None}
    carriers = find_carriers(notes, track, switching)
    return _Row(
        music=music,
        said=collect_evidence(music, role, choice),
        slides=tuple(slides),
        bend_range=found_range,
        intonation=find_intonation(
            notes, {number: bend_curve(track, number, bend_range) for number in role.channels}
        ),
        bend_at_onset_cents=bend_at_onset(notes, role, track, bend_range),
        bend_travel_cents=bend_travel(notes, role, track, bend_range),
        loudness=note_loudness(notes, carriers),
        dynamics=dynamics_curve(notes, carriers, role.index),
    )


def _merge(
    columns: Sequence[NDArray[Scalar]], places: Sequence[NDArray[np.int64]]
) -> NDArray[Scalar]:
    """Columns of the rows, each value at its note's place in the part."""
    joined = np.concatenate(columns)
    merged = np.empty_like(joined)
    merged[np.concatenate(places)] = joined
    return merged


def _merged_intonation(
    rows: Sequence[Intonation], places: Sequence[NDArray[np.int64]]
) -> Intonation:
    return Intonation(
        *(
            _merge([getattr(row, column.name) for row in rows], places)
            for column in fields(Intonation)
        )
    )


def _moved(slide: Slide, place: NDArray[np.int64]) -> Slide:
    """A slide between rows of a track as a slide between notes of the part."""
    to_note = -1 if slide.to_note < 0 else int(place[slide.to_note])
    return replace(slide, from_note=int(place[slide.from_note]), to_note=to_note)
