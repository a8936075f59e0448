"""What the user told us about the session; `config` makes it from a brief."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
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
class NamedLevel:
    """Players whom the brief names: prepared as at a level, and slower or quicker.

    `tempo_share` is the share of the tempo that players of that level manage.
    """

    name: str
    tempo_share: float = 1.0


@dataclass(frozen=True)
class NamedStyle:
    """A style that the brief names; what is None stays as in the style that it is like.

    `slide_ms` is the longest slide; the other two are how many slides a section makes.
    """

    name: str
    slide_ms: float | None = None
    slides_per_100_joins: float | None = None
    slides_per_minute: float | None = None


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
    `is_shared` says that a brief for many files asks for it, so that one file may lack the track.
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
    is_shared: bool = False

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

    `level` and `style` are what rules ask for; `named_level` and `named_style` are the brief's own
    name for them with its own numbers. The players stay the same when they are asked about at
    another level, and so does their share of the tempo.

    `players` gives the number of players of each part by name ('Violin 1': 8), `sections` that of
    all five sections, for parts that `players` does not name; `shared_players` are the names that
    come from a brief for many files, so that one file may lack the part. `tempo_bpm`
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
    named_level: NamedLevel | None = None
    named_style: NamedStyle | None = None
    shared_players: frozenset[str] = frozenset()

    @property
    def level_name(self) -> str:
        """What the user calls the level."""
        return str(self.level) if self.named_level is None else self.named_level.name

    @property
    def style_name(self) -> str:
        """What the user calls the style."""
        return str(self.style) if self.named_style is None else self.named_style.name

    @property
    def tempo_share(self) -> float:
        """Share of the tempo of players at `level` that these players manage."""
        return 1.0 if self.named_level is None else self.named_level.tempo_share

    def at_each_level(self) -> tuple[Session, ...]:
        """The same for players of each level, sight first; those that the brief names come last."""
        plain = tuple(replace(self, level=level, named_level=None) for level in Level)
        return plain if self.named_level is None else (*plain, self)
