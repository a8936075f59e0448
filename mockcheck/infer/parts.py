"""Parts put together from tracks: switches out, tracks of one part merged, layer upon layer."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.articulation import Articulated, articulate
from mockcheck.infer.asked_slides import find_asked_slides
from mockcheck.infer.bends import bend_travel
from mockcheck.infer.choices import choice_for
from mockcheck.infer.dynamics import note_loudness
from mockcheck.infer.headroom import with_headroom
from mockcheck.infer.players import count_players
from mockcheck.infer.slides import bend_at_onset, find_bend_slides
from mockcheck.infer.sonorities import find_sonorities
from mockcheck.infer.switches import SwitchedMusic, separate_switches
from mockcheck.instruments import instrument
from mockcheck.model.instrument import Instrument
from mockcheck.model.notes import concatenate_notes
from mockcheck.model.played import (
    ArticulationColumns,
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
    parts = tuple(
        _play_part(score, session, rows, choices, instruments[part], players[part])
        for part, rows in members.items()
    )
    return PlayedScore(score, session, parts, roles)


Scalar = TypeVar("Scalar", bound=np.generic)


@dataclass(frozen=True)
class _Row:
    """One row of the track list as its players play it; indices are rows of its own notes."""

    music: SwitchedMusic
    articulated: Articulated
    slides: tuple[Slide, ...]
    bend_at_onset_cents: NDArray[np.float64]
    bend_travel_cents: NDArray[np.float64]
    loudness: NDArray[np.float64]


def _play_part(
    score: Score,
    session: Session,
    roles: Sequence[Role],
    choices: Mapping[int, TrackChoice],
    player: Instrument,
    players: int,
) -> PlayedPart:
    rows = [
        _play_row(score.tracks[role.track_index], role, choices[role.index], player)
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
    part = PlayedPart(
        name=roles[0].part,
        instrument=player,
        players=players,
        roles=tuple(roles),
        session=session,
        timeline=score.tracks[roles[0].track_index].timeline,
        notes=notes,
        track=np.array([role.index for role in roles], np.int64)[origin],
        bend_at_onset_cents=_merge([row.bend_at_onset_cents for row in rows], places),
        bend_travel_cents=_merge([row.bend_travel_cents for row in rows], places),
        articulation=ArticulationColumns(
            _merge([row.articulated.columns.code for row in rows], places),
            _merge([row.articulated.columns.confidence for row in rows], places),
        ),
        zones=tuple(
            sorted(
                (zone for row in rows for zone in row.articulated.zones),
                key=lambda zone: (zone.onset_ticks, zone.track),
            )
        ),
        slides=tuple(sorted(slides, key=lambda slide: (slide.onset_ticks, slide.track))),
        sonorities=find_sonorities(notes),
        switches=tuple(switch for row in rows for switch in row.music.found),
        loudness=_merge([row.loudness for row in rows], places),
    )
    return with_headroom(part)


def _play_row(track: Track, role: Role, choice: TrackChoice, player: Instrument) -> _Row:
    own = track.notes.select(np.isin(track.notes.channel, role.channels))
    music = separate_switches(own, track, role, player, choice.switches)
    notes, bend_range = music.notes, choice.bend_range_semitones
    slides = find_bend_slides(notes, role, track, bend_range)
    taken = frozenset(slide.to_note for slide in slides)
    slides += find_asked_slides(notes, role, track, music.in_force, taken)
    return _Row(
        music=music,
        articulated=articulate(notes, role, choice, music.in_force),
        slides=tuple(slides),
        bend_at_onset_cents=bend_at_onset(notes, role, track, bend_range),
        bend_travel_cents=bend_travel(notes, role, track, bend_range),
        loudness=note_loudness(notes, track),
    )


def _merge(
    columns: Sequence[NDArray[Scalar]], places: Sequence[NDArray[np.int64]]
) -> NDArray[Scalar]:
    """Columns of the rows, each value at its note's place in the part."""
    joined = np.concatenate(columns)
    merged = np.empty_like(joined)
    merged[np.concatenate(places)] = joined
    return merged


def _moved(slide: Slide, place: NDArray[np.int64]) -> Slide:
    """A slide between rows of a track as a slide between notes of the part."""
    to_note = -1 if slide.to_note < 0 else int(place[slide.to_note])
    return replace(slide, from_note=int(place[slide.from_note]), to_note=to_note)
