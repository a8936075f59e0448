"""The brief: what the user says about the session, found, validated and made a Session.

Every fault of a brief is reported at once, each with the key it stands at.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any, Literal

from pydantic import (
    BaseModel,
    ConfigDict,
    Field,
    ValidationError,
    field_validator,
    model_validator,
)

from mockcheck.checks._registry import all_checks
from mockcheck.config.toml_file import fault_list, fault_words, read_toml
from mockcheck.errors import BadBrief
from mockcheck.instruments import instrument_ids
from mockcheck.model.acceptance import Acceptance, read_bars
from mockcheck.model.identity import read_finding_id
from mockcheck.model.played import ARTICULATIONS
from mockcheck.model.sections import SectionSizes, read_sections
from mockcheck.model.session import Level, Session, Style, Switch, TrackChoice
from mockcheck.model.session_time import SessionTime
from mockcheck.model.timecode import FRAME_RATES, frame_number
from mockcheck.model.words import bars_words

SLIDE_SWITCHES = ("portamento", "glissando")
"""Switches may also ask for a slide."""


class _Table(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class SwitchTable(_Table):
    """`[[tracks.switches]]`: one key, controller value, program or channel and what it means."""

    articulation: Literal[*ARTICULATIONS, *SLIDE_SWITCHES]  # type: ignore[valid-type]
    key: int | None = Field(None, ge=0, le=127)
    controller: int | None = Field(None, ge=0, le=127)
    values: tuple[int, int] = (0, 127)
    program: int | None = Field(None, ge=1, le=128)
    channel: int | None = Field(None, ge=1, le=16)
    held: bool = False

    @model_validator(mode="after")
    def _exactly_one_trigger(self) -> SwitchTable:
        triggers = (self.key, self.controller, self.program, self.channel)
        if sum(trigger is not None for trigger in triggers) != 1:
            message = "name exactly one of key, controller, program or channel"
            raise ValueError(message)
        return self


class TrackTable(_Table):
    """`[[tracks]]`: what holds for every track whose name matches."""

    match: str | int
    instrument: str | None = None
    part: str | None = Field(None, min_length=1)
    players: int | None = Field(None, ge=1, le=200)
    articulation: Literal[*ARTICULATIONS] | None = None  # type: ignore[valid-type]
    bend_range_semitones: float | None = Field(None, gt=0, le=96)
    leave_out: bool | None = None
    stays: bool | None = None
    switches: tuple[SwitchTable, ...] = ()

    @model_validator(mode="after")
    def _known_instrument(self) -> TrackTable:
        if self.instrument is not None and self.instrument not in instrument_ids():
            message = f"instrument must be one of: {', '.join(instrument_ids())}"
            raise ValueError(message)
        return self


class AcceptTable(_Table):
    """`[[accept]]`: findings that are meant, by id or by check, part and bars, and why."""

    reason: str = Field(min_length=1, pattern=r"\S")
    id: str | None = None
    check: str | None = None
    part: str | None = Field(None, min_length=1)
    bars: frozenset[int] | None = None

    @field_validator("bars", mode="before")
    @classmethod
    def _bars_as_reports_name_them(cls, bars: object) -> frozenset[int] | None:
        # TOML's true is an int to Python; written out it is no bar.
        return read_bars(str(bars))

    @field_validator("id")
    @classmethod
    def _id_of_a_finding(cls, text: str | None) -> str | None:
        if text is None:
            return None
        named = read_finding_id(text)
        if named.check not in all_checks():
            message = f"there is no check '{named.check}'; see `mockcheck checks`"
            raise ValueError(message)
        return str(named)

    @field_validator("check")
    @classmethod
    def _known_check(cls, name: str | None) -> str | None:
        if name is not None and name not in all_checks():
            message = "there is no such check; see `mockcheck checks`"
            raise ValueError(message)
        return name

    @model_validator(mode="after")
    def _by_id_or_by_place(self) -> AcceptTable:
        by_place = {"check", "part", "bars"} & self.model_fields_set
        if len(by_place) != (0 if self.id is not None else 3):
            message = "name a finding by its id alone, or by check, part and bars, all three"
            raise ValueError(message)
        return self


class BriefTable(_Table):
    """The whole brief."""

    level: Level = Level.SIGHT
    style: Style = Style.MODERN
    middle_c: Literal["C3", "C4", "C5"] = "C4"
    tempo_bpm: float | None = Field(None, ge=5, le=600)
    frame_rate: Literal[*FRAME_RATES] | None = None  # type: ignore[valid-type]
    start_timecode: str | None = Field(None, pattern=r"^\d\d:\d\d:\d\d[:;]\d\d$")
    sections: SectionSizes | None = None
    players: dict[str, int] = Field(default_factory=dict)
    tracks: tuple[TrackTable, ...] = ()
    checks: dict[str, dict[str, float]] = Field(default_factory=dict)
    session_time: SessionTime = Field(default_factory=SessionTime)
    accept: tuple[AcceptTable, ...] = ()

    @field_validator("sections", mode="before")
    @classmethod
    def _sizes_of_five_sections(cls, text: object) -> SectionSizes:
        return read_sections(text if isinstance(text, str) else "")

    @model_validator(mode="after")
    def _start_is_a_timecode(self) -> BriefTable:
        if self.start_timecode is not None:
            if self.frame_rate is None:
                message = "start_timecode needs a frame_rate"
                raise ValueError(message)
            frame_number(self.start_timecode, FRAME_RATES[self.frame_rate])
        return self

    @model_validator(mode="after")
    def _players_are_people(self) -> BriefTable:
        for part, count in self.players.items():
            if not 1 <= count <= 200:
                message = f"players.'{part}': {count} players; give a number from 1 to 200"
                raise ValueError(message)
        return self


def read_brief(path: Path) -> dict[str, Any]:
    """Read a brief as plain values; BadBrief says where it is not TOML."""
    return read_toml(path, "brief", "`mockcheck brief FILE.mid` prints one to start from.")


def session_from_brief(values: Mapping[str, Any], origin: str, level: str | None = None) -> Session:
    """Validate plain values as a brief; `level` wins over the brief's own.

    Raises BadBrief listing every fault with its key; `origin` names the brief in it.
    """
    given = dict(values) | ({"level": level} if level is not None else {})
    try:
        table = BriefTable.model_validate(given)
    except ValidationError as error:
        raise BadBrief(
            fault_list(origin, "brief", [fault_words(item) for item in error.errors()])
        ) from None
    faults = _check_faults(table.checks)
    if faults:
        raise BadBrief(fault_list(origin, "brief", faults))
    return Session(
        level=table.level,
        style=table.style,
        middle_c_octave=int(table.middle_c[1]),
        tempo_bpm=table.tempo_bpm,
        frame_rate=table.frame_rate,
        start_timecode=table.start_timecode,
        sections=table.sections,
        players=table.players,
        tracks=tuple(_track_choice(track) for track in table.tracks),
        check_params=table.checks,
        session_time=table.session_time,
        accepted=tuple(Acceptance(**dict(row)) for row in table.accept),
    )


def _track_choice(track: TrackTable) -> TrackChoice:
    return TrackChoice(
        match=str(track.match),
        instrument=track.instrument,
        part=track.part,
        players=track.players,
        articulation=track.articulation,
        bend_range_semitones=track.bend_range_semitones,
        leave_out=track.leave_out,
        stays=track.stays,
        switches=tuple(
            Switch(
                articulation=switch.articulation,
                key=switch.key,
                controller=switch.controller,
                low=switch.values[0],
                high=switch.values[1],
                program=None if switch.program is None else switch.program - 1,
                channel=switch.channel,
                held=switch.held,
            )
            for switch in track.switches
        ),
    )


def _check_faults(overrides: Mapping[str, Mapping[str, float]]) -> list[str]:
    faults = []
    for check_id, numbers in overrides.items():
        item = all_checks().get(check_id)
        if item is None:
            faults.append(f"checks.{check_id}: there is no such check; see `mockcheck checks`")
            continue
        try:
            item.params(**numbers)
        except ValidationError as error:
            faults += [fault_words(detail, f"checks.{check_id}") for detail in error.errors()]
    return faults


def effective_values(session: Session, players: Mapping[str, int]) -> dict[str, Any]:
    """What is in force, guesses of section sizes included, as plain values for review.json."""
    return {
        "level": str(session.level),
        "style": str(session.style),
        "middle_c": f"C{session.middle_c_octave}",
        "tempo_bpm": session.tempo_bpm,
        "frame_rate": session.frame_rate,
        "start_timecode": session.start_timecode,
        "players": dict(players),
        "tracks": [_choice_values(choice) for choice in session.tracks],
        "checks": {check_id: dict(values) for check_id, values in session.check_params.items()},
        "accept": [_acceptance_values(row) for row in session.accepted],
    }


def _acceptance_values(accepted: Acceptance) -> dict[str, Any]:
    if accepted.id is not None:
        return {"reason": accepted.reason, "id": accepted.id}
    bars = "all" if accepted.bars is None else bars_words(accepted.bars).split(" ", 1)[1]
    return {
        "reason": accepted.reason,
        "check": accepted.check,
        "part": accepted.part,
        "bars": bars,
    }


def _choice_values(choice: TrackChoice) -> dict[str, Any]:
    row = {key: value for key, value in vars(choice).items() if value is not None}
    row["switches"] = [
        {key: value for key, value in vars(switch).items() if value is not None}
        for switch in choice.switches
    ]
    return row
