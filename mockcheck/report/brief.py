"""The starter brief: every guess as TOML, for the user to correct."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

from mockcheck.model.played import ARTICULATIONS, FoundSwitch, PlayedPart, PlayedScore, Role
from mockcheck.model.session import Session
from mockcheck.model.session_time import SessionTime
from mockcheck.report._switch_words import note_words


def render_brief(played: PlayedScore) -> str:
    """A brief that, used as it is, gives the same findings, the guesses now certain."""
    from jinja2 import Environment, PackageLoader, StrictUndefined

    environment = Environment(
        loader=PackageLoader("mockcheck.report"),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
        autoescape=False,  # TOML, not HTML; every value goes through _toml
    )
    environment.filters["toml"] = _toml
    session = played.session
    part_of = played.part_of_role()
    return environment.get_template("brief.toml.j2").render(
        file=_one_line(played.score.file),
        level=session.level_name,
        style=session.style_name,
        own_tables=list(_own_tables(session)),
        middle_c=f"C{session.middle_c_octave}",
        tempo_assumed=played.score.tempo_map.assumed,
        players=[(part.name, part.players) for part in played.parts],
        rows=[_row(played, role, part_of.get(role.index)) for role in played.roles],
        articulations=ARTICULATIONS,
        session_time=list(_session_time(session.session_time)),
    )


def _own_tables(session: Session) -> Iterator[tuple[str, dict[str, str]]]:
    """The level and the style that the brief names, as the head and the lines of a table."""
    level, style = session.named_level, session.named_style
    if level is not None:
        lines = {"like": f'"{session.level}"', "tempo_share": f"{level.tempo_share:g}"}
        yield f"levels.{_toml(level.name)}", lines
    if style is not None:
        numbers = {name: value for name, value in vars(style).items() if name != "name"}
        lines = {name: f"{value:g}" for name, value in numbers.items() if value is not None}
        yield f"styles.{_toml(style.name)}", {"like": f'"{session.style}"', **lines}


def _session_time(assumed: SessionTime) -> Iterator[tuple[str, str, str, bool]]:
    """Name, value and meaning of each number, and whether it is the user's own."""
    for name, field in SessionTime.model_fields.items():
        extra = field.json_schema_extra
        unit = extra["unit"] if isinstance(extra, dict) else ""
        value = getattr(assumed, name)
        yield name, f"{value:g}", f"{unit}: {field.description}", value != field.default


def _row(played: PlayedScore, role: Role, part: PlayedPart | None) -> dict[str, Any]:
    track = played.score.tracks[role.track_index]
    bends = [track.curves(channel) for channel in role.channels]
    switches = part.switches if part is not None else ()
    found_ranges = part.bend_ranges if part is not None else ()
    return {
        "index": role.index,
        "name": _one_line(role.name),
        "instrument": role.instrument,
        "part": role.part,
        "evidence": _one_line(role.evidence),
        "confidence": role.confidence,
        "articulation": role.articulation,
        "left_out": None if role.left_out is None else _one_line(role.left_out),
        "bend_range_assumed": any(
            len(curves.bend_cents) and curves.bend_range_assumed for curves in bends
        ),
        "bend_range": next((found for found in found_ranges if found.track == role.index), None),
        "switches": [
            row
            for switch in switches
            if switch.track == role.index
            for row in _switch_rows(switch, played.session.middle_c_octave)
        ],
    }


def _switch_rows(switch: FoundSwitch, middle_c_octave: int) -> list[dict[str, Any]]:
    """One inline table for each meaning; a switch without a name is a comment, ready for one."""
    trigger = f"program = {switch.program + 1}" if switch.program is not None else ""
    if switch.pitch is not None:
        trigger = f"key = {switch.pitch}"
    elif switch.controller is not None:
        trigger = f"controller = {switch.controller}, values = [{switch.low}, {switch.high}]"
    elif switch.channel is not None:
        trigger = f"channel = {switch.channel}"
    return [
        {
            "trigger": trigger,
            "is_held": switch.is_held,
            "articulation": name,
            "note": note_words(switch, middle_c_octave),
        }
        for name in (switch.articulation or "").split(" and ")
    ]


def _one_line(text: str) -> str:
    """Text of a file inside a comment must not end the comment."""
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())


def _toml(text: str) -> str:
    # A JSON string without escapes beyond ASCII control characters is a TOML basic string.
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
