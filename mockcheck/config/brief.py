"""The brief: what the user says about the session, found, validated and made a Session.

Every fault of a brief is reported at once, each with the key it stands at.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import (
    BaseModel,
    ConfigDict,
    Field,
    ValidationError,
    ValidationInfo,
    field_validator,
    model_validator,
)

from mockcheck.checks._registry import all_checks
from mockcheck.config.chain import (
    EXTENDS,
    BriefFile,
    merged_chain,
    origin,
    own_rows,
    read_chain,
)
from mockcheck.config.naming import LevelTable, StyleTable, known_names, own_name
from mockcheck.config.toml_file import at_key, fault_list, fault_text
from mockcheck.errors import BadBrief
from mockcheck.instruments import instrument_ids
from mockcheck.model.acceptance import Acceptance, read_bars
from mockcheck.model.identity import read_finding_id
from mockcheck.model.played import ARTICULATIONS
from mockcheck.model.sections import SectionSizes, read_sections
from mockcheck.model.session import (
    Level,
    NamedLevel,
    NamedStyle,
    Session,
    Style,
    Switch,
    TrackChoice,
)
from mockcheck.model.session_time import SessionTime
from mockcheck.model.timecode import FRAME_RATES, frame_number
from mockcheck.model.words import printable

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

    level: str = Field("sight", json_schema_extra={"enum": [str(level) for level in Level]})
    style: str = Field("modern", json_schema_extra={"enum": [str(style) for style in Style]})
    levels: dict[Annotated[str, own_name(Level)], LevelTable] = Field(default_factory=dict)
    styles: dict[Annotated[str, own_name(Style)], StyleTable] = Field(default_factory=dict)
    middle_c: Literal["C3", "C4", "C5"] = "C4"
    tempo_bpm: float | None = Field(None, ge=5, le=600)
    frame_rate: Literal[*FRAME_RATES] | None = None  # type: ignore[valid-type]
    start_timecode: str | None = Field(None, pattern=r"^\d\d:\d\d:\d\d[:;]\d\d$")
    sections: SectionSizes | None = None
    players: dict[str, Annotated[int, Field(ge=1, le=200)]] = Field(default_factory=dict)
    tracks: tuple[TrackTable, ...] = ()
    checks: dict[str, dict[str, Any]] = Field(default_factory=dict)
    session_time: SessionTime = Field(default_factory=SessionTime)
    accept: tuple[AcceptTable, ...] = ()

    @field_validator("sections", mode="before")
    @classmethod
    def _sizes_of_five_sections(cls, text: object) -> SectionSizes:
        return read_sections(text if isinstance(text, str) else "")

    @field_validator("start_timecode")
    @classmethod
    def _start_is_a_timecode(cls, text: str | None, info: ValidationInfo) -> str | None:
        # A frame rate that is at fault itself is not among the data.
        if text is not None and "frame_rate" in info.data:
            if info.data["frame_rate"] is None:
                message = "this needs a frame_rate as well"
                raise ValueError(message)
            frame_number(text, FRAME_RATES[info.data["frame_rate"]])
        return text


def read_brief(path: Path) -> dict[str, Any]:
    """Read a brief, and all that it extends, as plain values; BadBrief says where one is not TOML.

    What is read is not validated; `session_from_file` is for that.
    """
    return merged_chain(read_chain(path))


def session_from_file(path: Path, level: str | None = None) -> Session:
    """Read and validate a brief with all that it extends; `level` wins over the brief's own.

    Raises BadBrief listing every fault of every file, each with its key.
    """
    files = read_chain(path)
    faults = _faults_by_file(files)
    if any(faults):
        told = [
            fault_list(f"{file.name}{by}", "brief", own)
            for file, by, own in zip(files, _who_extends(files), faults, strict=True)
            if own
        ]
        raise BadBrief("\n".join(told))
    session = session_from_brief(merged_chain(files), files[0].name, level)
    own_tracks, own_accepted = own_rows(files, "tracks"), own_rows(files, "accept")
    return replace(
        session,
        tracks=tuple(
            replace(choice, is_shared=row not in own_tracks)
            for row, choice in enumerate(session.tracks)
        ),
        accepted=tuple(
            replace(meant, is_shared=row not in own_accepted)
            for row, meant in enumerate(session.accepted)
        ),
        shared_players=frozenset(session.players) - frozenset(files[0].values.get("players", {})),
    )


def _who_extends(files: Sequence[BriefFile]) -> list[str]:
    return ["", *(f", which {file.name} extends" for file in files[:-1])]


def _faults_by_file(files: Sequence[BriefFile]) -> list[list[str]]:
    """The faults of each file of a chain, as lines.

    Each brief has to be usable with what it extends, whatever a nearer one makes of it; what is
    said of a farther brief is not said again.
    """
    lines: list[list[str]] = [[] for _ in files]
    told: set[tuple[int, tuple[Any, ...]]] = set()
    for number in reversed(range(len(files))):
        traced = [
            (origin(files[number:], steps), text)
            for steps, text in _faults(merged_chain(files[number:]))
        ]
        new = [((number + file, key), text) for (file, key), text in traced]
        for (file, key), text in new:
            if (file, key) not in told:
                lines[file].append(at_key(key, text))
        told |= {place for place, _ in new}
    return lines


def session_from_brief(values: Mapping[str, Any], origin: str, level: str | None = None) -> Session:
    """Validate plain values as a brief; `level` wins over the brief's own.

    Raises BadBrief listing every fault with its key; `origin` names the brief in it. Plain values
    cannot extend a file: they may come from somebody who is not to read files here.
    """
    faults = [at_key(steps, text) for steps, text in _faults(values)]
    if faults:
        raise BadBrief(fault_list(origin, "brief", faults))
    table = BriefTable.model_validate(values)
    chosen = table.level if level is None else level
    if chosen not in (known := known_names(table.levels, Level)):
        message = (
            f"There is no level '{printable(chosen)}'. Choose one of: {_listed(known)}."
            " A brief can name more, under [levels]."
        )
        raise BadBrief(message)
    own_level, own_style = table.levels.get(chosen), table.styles.get(table.style)
    return Session(
        level=Level(chosen) if own_level is None else own_level.like,
        style=Style(table.style) if own_style is None else own_style.like,
        middle_c_octave=int(table.middle_c[1]),
        tempo_bpm=table.tempo_bpm,
        frame_rate=table.frame_rate,
        start_timecode=table.start_timecode,
        sections=table.sections,
        players=table.players,
        tracks=tuple(_track_choice(track) for track in table.tracks),
        check_params=_check_params(table.checks),
        session_time=table.session_time,
        accepted=tuple(Acceptance(**dict(row)) for row in table.accept),
        named_level=None if own_level is None else NamedLevel(chosen, own_level.tempo_share),
        named_style=None
        if own_style is None
        else NamedStyle(table.style, **own_style.model_dump(exclude={"like"})),
    )


Fault = tuple[tuple[str | int, ...], str]
"""The key of a fault, step by step, and what is wrong there."""


def _faults(values: Mapping[str, Any]) -> Iterator[Fault]:
    if EXTENDS in values:
        yield (EXTENDS,), _extends_fault(values[EXTENDS])
    try:
        BriefTable.model_validate({key: values[key] for key in values if key != EXTENDS})
    except ValidationError as error:
        yield from ((detail["loc"], fault_text(detail)) for detail in error.errors())
    for key, kinds in (("level", Level), ("style", Style)):
        known = known_names(values.get(f"{key}s"), kinds)
        name = values.get(key)
        if isinstance(name, str) and name not in known:
            words = f"there is no {key} '{printable(name)}'; choose one of: {_listed(known)}"
            yield (key,), words
    overrides = values.get("checks")
    if isinstance(overrides, Mapping):
        yield from _check_faults(overrides)


def _listed(names: Sequence[str]) -> str:
    return ", ".join(printable(name) for name in names)


def _extends_fault(value: object) -> str:
    if isinstance(value, str) and value.strip():
        return (
            "only a brief that is given as a file of its own can extend another; copy in what"
            f" {printable(value)} says instead"
        )
    return f'name one brief in quotes, as in extends = "house.toml" (found {value!r})'


def _check_faults(overrides: Mapping[Any, Any]) -> Iterator[Fault]:
    for check_id, numbers in overrides.items():
        item = all_checks().get(check_id)
        if item is None:
            yield ("checks", check_id), "there is no such check; see `mockcheck checks`"
        elif isinstance(numbers, Mapping):
            try:
                item.params(**numbers)
            except ValidationError as error:
                for detail in error.errors():
                    yield ("checks", check_id, *detail["loc"]), fault_text(detail)


def _check_params(overrides: Mapping[str, Mapping[str, Any]]) -> dict[str, dict[str, float]]:
    params = {name: all_checks()[name].params(**numbers) for name, numbers in overrides.items()}
    return {name: params[name].model_dump(include=set(overrides[name])) for name in params}


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
