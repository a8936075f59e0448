"""What the user told us about the session; `config` makes it from a brief."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from fnmatch import fnmatchcase
from typing import TYPE_CHECKING

from mockcheck.model.acceptance import Acceptance
from mockcheck.model.sections import SectionSizes

if TYPE_CHECKING:
    from mockcheck.model.session_time import SessionTime


class Level(StrEnum):
    """How well prepared the players are; the same bar is a different question at each."""

    SIGHT = "sight"
    REHEARSED = "rehearsed"
    SOLO = "solo"


class Style(StrEnum):
    """How much sliding the music wants."""

    MODERN = "modern"
    ROMANTIC = "romantic"
    COMIC = "comic"


@dataclass(frozen=True)
class Switch:
    """A key, controller value, program or channel that changes the articulation of a track.

    Exactly one of `key`, `controller`, `program`, `channel` is set; `low`..`high` is the range of
    controller values that mean it. `held` switches hold only while the key is down.
    """

    articulation: str
    key: int | None = None
    controller: int | None = None
    low: int = 0
    high: int = 127
    program: int | None = None
    channel: int | None = None
    held: bool = False


@dataclass(frozen=True)
class TrackChoice:
    """What the user says about the tracks that a pattern matches; None means: guess.

    `match` is a shell pattern over track names, or a row number of the review's track list.
    `stays` says that the track goes into the mix as it is, under or beside the players.
    """

    match: str
    instrument: str | None = None
    part: str | None = None
    players: int | None = None
    articulation: str | None = None
    bend_range_semitones: float | None = None
    leave_out: bool | None = None
    switches: tuple[Switch, ...] = ()
    stays: bool | None = None

    def is_for(self, name: str, index: int) -> bool:
        """Whether this is about the row of the track list with that name and number."""
        row_name, wanted = name.casefold(), self.match.strip().casefold()
        # A name with brackets is no pattern to whoever copies it into the brief.
        return wanted in (row_name, str(index)) or fnmatchcase(row_name, wanted)


def _usual_times() -> SessionTime:
    # Reading a file needs no table of numbers, and no package that checks one.
    from mockcheck.model.session_time import SessionTime

    return SessionTime()


@dataclass(frozen=True)
class Session:
    """The effective brief.

    `players` gives the number of players of each part by name ('Violin 1': 8), `sections` that of
    all five sections, for parts that `players` does not name; `tempo_bpm`
    replaces an assumed tempo; `check_params` overrides numbers of checks by check id;
    `session_time` is what an estimate of recording minutes assumes; `accepted` are the findings
    that the composer means.
    """

    level: Level = Level.SIGHT
    style: Style = Style.MODERN
    middle_c_octave: int = 4
    tempo_bpm: float | None = None
    frame_rate: str | None = None
    start_timecode: str | None = None
    players: Mapping[str, int] = field(default_factory=dict)
    sections: SectionSizes | None = None
    tracks: tuple[TrackChoice, ...] = ()
    check_params: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    session_time: SessionTime = field(default_factory=_usual_times)
    accepted: tuple[Acceptance, ...] = ()
