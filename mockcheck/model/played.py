"""What players would do with the score: who plays, how, and with which slides."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from mockcheck.model.columns import freeze_columns
from mockcheck.model.instrument import Instrument
from mockcheck.model.notes import Notes
from mockcheck.model.score import Score
from mockcheck.model.session import Session
from mockcheck.model.time import Location, Timeline
from mockcheck.model.timecode import timecode_at
from mockcheck.units import pitch_name

ARTICULATIONS = (
    "legato",
    "detache",
    "portato",
    "marcato",
    "staccato",
    "spiccato",
    "tremolo",
    "trill",
    "pizzicato",
    "col legno",
    "harmonic",
    "con sordino",
    "sul ponticello",
    "sul tasto",
)
"""The trade's names; their order is the code used in columns."""


@dataclass(frozen=True)
class Role:
    """Who plays one row of the review's track list: an MTrk chunk, or some of its channels.

    Parameters
    ----------
    index
        Row in the review's track list.
    track_index
        MTrk chunk, from 0.
    channels
        Channels 1..16 whose notes belong to this row.
    name
        The track's name, or 'track 3' or 'track 1, channel 4' where it has none.
    instrument
        Instrument id; None when the row is left out.
    part
        'Violin 1'; rows of the same part are the same players. Empty when left out.
    articulation
        What the name says about the stroke ('Vln 1 spicc'), None when it says nothing.
    confidence, evidence
        How sure the guess is (0-1), and one sentence why.
    left_out
        Why the row is not reviewed; None when it is.
    """

    index: int
    track_index: int
    channels: tuple[int, ...]
    name: str
    instrument: str | None
    part: str
    is_solo: bool
    articulation: str | None
    confidence: float
    evidence: str
    left_out: str | None = None


@dataclass(frozen=True)
class ArticulationColumns:
    """How each note of a part is played: code into ARTICULATIONS, and how sure we are (0-1)."""

    code: NDArray[np.int8]
    confidence: NDArray[np.float64]

    def __post_init__(self) -> None:
        freeze_columns(self)

    def name(self, note_index: int) -> str:
        """The articulation of one note in words."""
        return ARTICULATIONS[int(self.code[note_index])]

    def is_any(self, *names: str) -> NDArray[np.bool_]:
        """Mask of the notes played in one of these ways."""
        return np.isin(self.code, [ARTICULATIONS.index(name) for name in names])


@dataclass(frozen=True)
class ArticulationZone:
    """A stretch of one track played in one way."""

    track: int
    onset_ticks: int
    release_ticks: int
    articulation: str
    confidence: float
    evidence: str


@dataclass(frozen=True)
class Slide:
    """One audible slide; pitches may be fractions of a semitone.

    `kind` is portamento, glissando, scoop or fall; `source` is bend, portamento-switch, overlap
    or switch. `to_note` is -1 where the slide leads to no note (a fall).
    """

    track: int
    from_note: int
    to_note: int
    onset_ticks: int
    release_ticks: int
    from_pitch: float
    to_pitch: float
    duration_ms: float
    kind: str
    source: str
    confidence: float


@dataclass(frozen=True)
class Sonorities:
    """What one part must sound at each onset: the notes struck and the notes still held.

    Row k covers note indices `members[first[k]:first[k + 1]]`, lowest pitch first; `struck[k]`
    of them begin here. Legato overlap, release tails and doubled keys are already taken out.
    """

    first: NDArray[np.int64]
    members: NDArray[np.int64]
    struck: NDArray[np.int64]

    def __len__(self) -> int:
        return len(self.first) - 1

    def notes_at(self, row: int) -> NDArray[np.int64]:
        """Note indices that sound together at one onset, lowest pitch first."""
        return self.members[self.first[row] : self.first[row + 1]]


@dataclass(frozen=True)
class DynamicsCurve:
    """How loud one track is meant over time.

    Parameters
    ----------
    track
        Review row.
    source
        What carries it: 'controller 11' or 'velocity'.
    ticks, time_s
        Where each value begins, rising, shape (n,).
    loudness
        0-127 from there on, shape (n,).
    confidence
        How sure it is that this, and not something else, carries the dynamics (0-1).
    """

    track: int
    source: str
    ticks: NDArray[np.int64]
    time_s: NDArray[np.float64]
    loudness: NDArray[np.float64]
    confidence: float

    def __post_init__(self) -> None:
        freeze_columns(self)


@dataclass(frozen=True)
class PartLines:
    """The lines that a part divides into, and who plays them.

    Parameters
    ----------
    line
        Line of each note, 0 = the highest, shape (n,).
    players
        How many players each line has, shape (lines,).
    kind
        'one line', 'double stops', 'divisi' or 'open' (could be either) of each note's moment,
        as codes into `LINE_KINDS`, shape (n,).
    confidence
        How sure the kind is (0-1), shape (n,).
    """

    line: NDArray[np.int64]
    players: NDArray[np.int64]
    kind: NDArray[np.int8]
    confidence: NDArray[np.float64]

    def __post_init__(self) -> None:
        for column in (self.line, self.players, self.kind, self.confidence):
            column.setflags(write=False)


LINE_KINDS = ("one line", "double stops", "divisi", "open")


@dataclass(frozen=True)
class FoundSwitch:
    """A key used as an articulation switch; its notes are not music.

    `articulation` is None until the brief names it.
    """

    track: int
    pitch: int
    presses: int
    articulation: str | None
    evidence: str
    confidence: float


@dataclass(frozen=True)
class FingeringColumns:
    """One workable way to finger a part, never the fingering; note by note.

    Parameters
    ----------
    string_index
        0 = highest string; -1 where one player's hand does not take the note.
    finger
        0 = open, 1-4, thumb = -1; 0 where there is no string.
    stop_semitones
        Above the open string; -1 where there is no string.
    """

    string_index: NDArray[np.int8]
    finger: NDArray[np.int8]
    stop_semitones: NDArray[np.int16]

    def __post_init__(self) -> None:
        freeze_columns(self)


@dataclass(frozen=True)
class TightPassage:
    """A stretch of a part that needs nearly all the time it has, or more.

    Parameters
    ----------
    note_indices
        Notes of the passage in order of time.
    ratio
        Time needed over time available at the session's level; above 1 it does not go.
    ratio_low, ratio_high
        The same with the least and the most favourable time constants' counterparts: the ends of
        what is known about players.
    solo_ratio_low
        The least ratio for a soloist who has practised: above 1 nobody plays it.
    is_leap
        One movement stands out, and it is a leap.
    binding
        The movement that decides, in words.
    needed_ms, available_ms
        Time of that movement.
    notes_per_s
        Rate of the passage.
    """

    note_indices: tuple[int, ...]
    ratio: float
    ratio_low: float
    ratio_high: float
    solo_ratio_low: float
    is_leap: bool
    binding: str
    needed_ms: float
    available_ms: float
    notes_per_s: float

    @property
    def headroom(self) -> float:
        """Fastest playable tempo over the written one."""
        return 1 / self.ratio


@dataclass(frozen=True)
class PlayedPart:
    """One part: the music of all its tracks, merged in time.

    Parameters
    ----------
    track
        Review row of each note, shape (n,).
    bend_at_onset_cents, bend_travel_cents
        Bend in force when each note begins, and the way it goes while the note sounds, cents,
        shape (n,).
    timeline
        Tempo and bars of the part.
    fingering, passages
        From the search over fingerings; None and empty for a full-ensemble patch.
    headroom, headroom_tick
        Fastest playable tempo over the written one at the session's level, and where it is decided.
    loudness
        How loud each note is meant, 0-127, shape (n,); None where nobody listened for it.
    dynamics
        The curve of each track.
    slur
        Number of the slur each note is under, -1 for a bow of its own, shape (n,).
    lines
        The voices of the part.
    """

    name: str
    instrument: Instrument
    players: int
    roles: tuple[Role, ...]
    session: Session
    timeline: Timeline
    notes: Notes
    track: NDArray[np.int64]
    bend_at_onset_cents: NDArray[np.float64]
    bend_travel_cents: NDArray[np.float64]
    articulation: ArticulationColumns
    zones: tuple[ArticulationZone, ...]
    slides: tuple[Slide, ...]
    sonorities: Sonorities
    switches: tuple[FoundSwitch, ...]
    fingering: FingeringColumns | None = None
    passages: tuple[TightPassage, ...] = ()
    headroom: float | None = None
    headroom_tick: int = 0
    loudness: NDArray[np.float64] | None = None
    dynamics: tuple[DynamicsCurve, ...] = ()
    slur: NDArray[np.int64] | None = None
    lines: PartLines | None = None

    def pitch_name(self, pitch: float) -> str:
        """A pitch as this user names it."""
        return pitch_name(round(pitch), self.session.middle_c_octave)

    @property
    def role_confidence(self) -> float:
        """How sure we are who plays."""
        return min((role.confidence for role in self.roles), default=0.0)

    def locate(self, tick: int) -> Location:
        """Bar, beat, second and timecode of a tick in this part."""
        return self._with_timecode(self.timeline.locate(tick))

    def locate_onset(self, tick: int) -> Location:
        """The same of a tick at which something begins; bar and beat as players name them."""
        return self._with_timecode(self.timeline.locate_onset(tick))

    def _with_timecode(self, place: Location) -> Location:
        rate = self.session.frame_rate
        if rate is None:
            return place
        return replace(place, timecode=timecode_at(place.time_s, rate, self.session.start_timecode))


@dataclass(frozen=True)
class PlayedScore:
    """All parts, and every row of the track list, left-out ones with their reason."""

    score: Score
    session: Session
    parts: tuple[PlayedPart, ...]
    roles: tuple[Role, ...]

    def part_of_role(self) -> Mapping[int, PlayedPart]:
        """The part each reviewed row belongs to."""
        return {role.index: part for part in self.parts for role in part.roles}
