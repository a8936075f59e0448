"""What players would do with the score: who plays, how, and with which slides."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from mockcheck.model.articulations import ARTICULATIONS as ARTICULATIONS
from mockcheck.model.articulations import COLOURS as COLOURS
from mockcheck.model.articulations import ArticulationColumns as ArticulationColumns
from mockcheck.model.articulations import ArticulationZone as ArticulationZone
from mockcheck.model.columns import freeze_columns
from mockcheck.model.dynamics import DynamicsCurve
from mockcheck.model.instrument import Instrument
from mockcheck.model.intonation import Intonation
from mockcheck.model.notes import Notes
from mockcheck.model.reading import ReadingLoad
from mockcheck.model.score import Score
from mockcheck.model.session import Session
from mockcheck.model.spelled import SpellingColumns
from mockcheck.model.time import Location, Timeline
from mockcheck.model.timecode import timecode_at
from mockcheck.model.written import WrittenRhythm
from mockcheck.units import pitch_name


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
class BendRange:
    """How far the wheel of one track bends either way, found since the file does not say."""

    track: int
    semitones: float
    confidence: float
    evidence: str


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
class PartLines:
    """The lines that a part divides into, and who plays them; arrays of shape (n,).

    Parameters
    ----------
    line
        Line of each note, 0 = the highest.
    players
        How many players take each note; all of the part where it does not divide, 0 where the
        part has fewer players than lines.
    kind
        'one line', 'double stops', 'divisi' or 'open' (could be either of these two) of each note's
        moment, as codes into `LINE_KINDS`.
    confidence
        How sure the kind is (0-1); of 'open', how sure the likelier of the two.
    """

    line: NDArray[np.int64]
    players: NDArray[np.int64]
    kind: NDArray[np.int8]
    confidence: NDArray[np.float64]

    def __post_init__(self) -> None:
        freeze_columns(self)

    def select(self, rows: NDArray[np.bool_] | NDArray[np.int64]) -> PartLines:
        """Some of the notes."""
        return PartLines(
            self.line[rows], self.players[rows], self.kind[rows], self.confidence[rows]
        )

    @property
    def read_line(self) -> NDArray[np.int64]:
        """Which reader each note is for: divided players have a line each, others read all."""
        return np.where(self.is_any("divisi"), self.line, 0).astype(np.int64)

    def is_any(self, *kinds: str) -> NDArray[np.bool_]:
        """Mask of the notes whose moment is of one of these kinds."""
        return np.isin(self.kind, [LINE_KINDS.index(kind) for kind in kinds])


LINE_KINDS = ("one line", "double stops", "divisi", "open")


@dataclass(frozen=True)
class FoundSwitch:
    """What a track uses to change articulation: a key, a controller value, a program, a channel.

    Parameters
    ----------
    track
        Review row.
    pitch
        The key, 0-127; its notes are not music. None for the other kinds, of which exactly one is
        set: `controller` (its values `low` to `high`), `program` (0-127) or `channel` (1-16).
    presses
        How often it is thrown.
    articulation
        What the brief, or a program by General MIDI, says it means; None until somebody names it.
    evidence, confidence
        Why it is taken for a switch, in one sentence, and how sure that is (0-1); 1 for switches
        that the brief names.
    follows
        How the notes played with it behave, as in 'short notes follow'.
    is_held
        Holds only while the key is down.
    """

    track: int
    pitch: int | None
    presses: int
    articulation: str | None
    evidence: str
    confidence: float
    follows: str = ""
    controller: int | None = None
    low: int = 0
    high: int = 127
    program: int | None = None
    channel: int | None = None
    is_held: bool = False


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
    bend_ranges
        Of the tracks that bend without saying how far, where their slides tell.
    intonation
        Pitch of each note apart from its slides.
    lines
        The voices of the part.
    spelling
        How its notes read; None where nobody looked.
    written
        The rhythm as it would be written; None where there are no beats, or the notes follow none.
    reading
        How heavy each bar is to read; None where the rhythm is not written.
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
    bend_ranges: tuple[BendRange, ...] = ()
    intonation: Intonation | None = None
    lines: PartLines | None = None
    spelling: SpellingColumns | None = None
    written: WrittenRhythm | None = None
    reading: ReadingLoad | None = None

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
