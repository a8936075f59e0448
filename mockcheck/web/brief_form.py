"""The brief as a form, made from the model that reads briefs, and back to a brief's values."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

from pydantic import BaseModel

from mockcheck.config import BriefTable, SwitchTable, TrackTable
from mockcheck.instruments import instrument_ids
from mockcheck.model.sections import SECTION_PRESETS

KEPT = ("checks", "accept", "levels", "styles")
"""Tables of a brief that have no place on the form and stay as they are."""
_TRACK_ROW = re.compile(r"tracks row (\d+)")
_OWN_PLACE = ("tracks", "players", "session_time", *KEPT)
_TRACK_OWN_PLACE = ("match", "switches")
_YES, _NO, _AS_IT_IS = "yes", "no", "=as it is"

_WORDS: dict[str, tuple[str, str]] = {
    "level": ("How well prepared", "sight: read from the stand; rehearsed: a few run-throughs"),
    "style": ("Style", "how much sliding the music wants"),
    "middle_c": ("Middle C is", "what your sequencer calls key 60"),
    "tempo_bpm": ("Tempo, quarters a minute", "only for a file that holds no tempo"),
    "frame_rate": ("Frame rate", "adds timecode"),
    "start_timecode": ("Music starts at", "as in 01:00:00:00; needs a frame rate"),
    "sections": ("Section sizes", "five numbers as in 8.8.5.4.3, or a name from the list"),
    "instrument": ("Instrument", ""),
    "part": ("Part", ""),
    "players": ("Players", ""),
    "leave_out": ("Left out", ""),
    "articulation": ("Stroke of the whole track", ""),
    "stays": ("Stays in the mix", "players hear it"),
    "bend_range_semitones": ("Bend range, semitones", "only where the file sets none"),
}


@dataclass(frozen=True)
class Field:
    """One question of the form.

    Parameters
    ----------
    name
        What the browser sends the answer as: 'level', 'tracks.3.instrument'.
    kind
        'choice', 'number' or 'text'.
    value, empty
        The answer given so far, '' for none; and what no answer means.
    choices
        Value and words of each choice; of a text, suggestions.
    """

    name: str
    label: str
    hint: str
    kind: str
    value: str
    empty: str = ""
    choices: tuple[tuple[str, str], ...] = ()
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True)
class TrackFields:
    """The questions about one track: the chief ones, the others, and the meaning of switches."""

    title: str
    guess: str
    chief: tuple[Field, ...]
    further: tuple[Field, ...]
    switches: tuple[Field, ...]


def session_fields(values: Mapping[str, Any]) -> tuple[Field, ...]:
    """Level, style, section sizes and whatever else a brief says once for the whole session."""
    schema = _schema(BriefTable)
    fields = {
        name: _field(name, schema["properties"][name], schema, name, values.get(name))
        for name in BriefTable.model_fields
        if name not in _OWN_PLACE
    }
    for name in ("level", "style"):
        own = tuple((named, named) for named in values.get(f"{name}s", ()))
        fields[name] = replace(fields[name], choices=fields[name].choices + own)
    return tuple(fields.values())


def session_time_fields(values: Mapping[str, Any]) -> tuple[Field, ...]:
    """What an estimate of recording minutes assumes, number by number."""
    schema = _schema(BriefTable)
    given = values.get("session_time", {})
    fields = []
    for name, said in schema["$defs"]["SessionTime"]["properties"].items():
        what = name.removesuffix("_s").removesuffix("_min").replace("_", " ").capitalize()
        field = _field(f"session_time.{name}", said, schema, name, given.get(name))
        words = {
            "label": f"{what} ({said['unit']})",
            "hint": said["description"],
            "empty": f"{said['default']:g}",
        }
        fields.append(Field(**vars(field) | words))
    return tuple(fields)


def track_fields(row: Mapping[str, Any], parts: Sequence[str]) -> TrackFields:
    """The questions about one row of `track_rows`; `parts` are the names to suggest."""
    schema = _schema(TrackTable)
    guess, said = row["guess"], row["said"]
    fields = {}
    for name in TrackTable.model_fields:
        if name in _TRACK_OWN_PLACE:
            continue
        path = f"tracks.{row['index']}.{name}"
        field = _field(path, schema["properties"][name], schema, name, said.get(name))
        extra: dict[str, Any] = {"empty": _guess_words(name, guess)}
        if name == "instrument":
            extra |= {"kind": "choice", "choices": tuple((i, i) for i in instrument_ids())}
        elif name == "part":
            extra["choices"] = tuple((part, part) for part in parts)
        fields[name] = Field(**vars(field) | extra)
    chief = ("instrument", "part", "players", "leave_out")
    return TrackFields(
        title=row["name"],
        guess=_evidence(row),
        chief=tuple(fields.pop(name) for name in chief),
        further=tuple(fields.values()),
        switches=tuple(
            _switch_field(row["index"], number, switch)
            for number, switch in enumerate(row["switches"])
        ),
    )


def values_from(
    answers: Mapping[str, str], rows: Sequence[Mapping[str, Any]], kept: Mapping[str, Any]
) -> dict[str, Any]:
    """The brief that the answers amount to, not validated yet.

    Parameters
    ----------
    answers
        What the browser sent, by field name; names that the form does not have are ignored.
    rows
        The rows of `track_rows` that the form was made from.
    kept
        The brief before; its tables without a place on the form stay as they are.
    """
    values = _answered(session_fields({}), answers)
    tracks = [table for row in rows if len(table := _track_table(row, answers)) > 1]
    if tracks:
        values["tracks"] = tracks
    times = _answered(session_time_fields({}), answers)
    if times:
        values["session_time"] = {name.partition(".")[2]: time for name, time in times.items()}
    return values | {key: kept[key] for key in KEPT if kept.get(key)}


def in_form_words(problem: str, values: Mapping[str, Any]) -> str:
    """Faults of a brief told by the questions of the form instead of by keys.

    Parameters
    ----------
    problem
        The text of a BadBrief about `values`: a head, and one line that starts with '  - ' for
        each fault. Other text stays as it is.
    """
    return "\n".join(_line_in_form_words(line, values) for line in problem.split("\n"))


def _line_in_form_words(line: str, values: Mapping[str, Any]) -> str:
    if line.endswith(": the brief cannot be used:"):
        return "This cannot be used yet:"
    place, colon, fault = line.removeprefix("  - ").partition(": ")
    if not line.startswith("  - ") or not colon:
        return line
    key = place.rpartition(".")[2]
    label = _WORDS.get(key, (key.replace("_", " "), ""))[0]
    if row := _TRACK_ROW.match(place):
        label = f"Track '{values['tracks'][int(row[1]) - 1]['match']}', {label}"
    return f"  - {label}: {fault}"


@cache
def _schema(model: type[BaseModel]) -> dict[str, Any]:
    return model.model_json_schema()


def _answered(fields: Sequence[Field], answers: Mapping[str, str]) -> dict[str, Any]:
    texts = {field: answers.get(field.name, "").strip() for field in fields}
    return {field.name: _value(field, text) for field, text in texts.items() if text}


def _value(field: Field, text: str) -> str | int | float | bool:
    if field.kind == "number":
        return _number(text)
    is_truth = field.choices and {value for value, _ in field.choices} == {_YES, _NO}
    return text == _YES if is_truth else text


def _number(text: str) -> int | float | str:
    """A number as TOML has it; what is none stays text, for the model to refuse with its key."""
    for kind in (int, float):
        try:
            return kind(text)
        except ValueError:
            continue
    return text


def _track_table(row: Mapping[str, Any], answers: Mapping[str, str]) -> dict[str, Any]:
    fields = track_fields(row, ())
    prefix = f"tracks.{row['index']}."
    answered = _answered((*fields.chief, *fields.further), answers)
    table = {"match": row["match"]}
    table |= {name.removeprefix(prefix): value for name, value in answered.items()}
    switches: list[dict[str, Any]] = []
    for field, switch in zip(fields.switches, row["switches"], strict=True):
        answer = answers.get(field.name, "")
        if answer == _AS_IT_IS:
            switches += switch["said"]
        elif answer:
            switches.append(switch["trigger"] | {"articulation": answer})
    return table | ({"switches": switches} if switches else {})


def _switch_field(row: int, number: int, switch: Mapping[str, Any]) -> Field:
    names = _enum(_schema(SwitchTable)["properties"]["articulation"])
    choices = [(name, name) for name in names]
    said = [table["articulation"] for table in switch["said"]]
    value = said[0] if len(said) == 1 else ""
    if len(said) > 1:
        value = _AS_IT_IS
        choices.insert(0, (_AS_IT_IS, " and ".join(said)))
    guess = switch["guess"]
    return Field(
        name=f"tracks.{row}.switches.{number}",
        label=switch["words"][:1].upper() + switch["words"][1:],
        hint=switch["note"],
        kind="choice",
        value=value,
        empty=f"as guessed: {guess}" if guess else "not named",
        choices=tuple(choices),
    )


def _field(path: str, said: Mapping[str, Any], schema: Any, name: str, value: Any) -> Field:
    label, hint = _WORDS.get(name, (name.replace("_", " ").capitalize(), ""))
    plain = _plain(said, schema)
    kind, choices = "text", tuple((item, item) for item in _enum(plain))
    if choices:
        kind = "choice"
    elif plain.get("type") == "boolean":
        kind, choices = "choice", ((_YES, "yes"), (_NO, "no"))
    elif plain.get("type") in ("number", "integer"):
        kind = "number"
    elif name == "sections":
        choices = tuple((preset, preset) for preset in SECTION_PRESETS)
    default = said.get("default")
    return Field(
        name=path,
        label=label,
        hint=hint,
        kind=kind,
        value=_shown(value),
        empty=f"{default}, if not said" if default is not None else "",
        choices=choices,
        low=plain.get("minimum", plain.get("exclusiveMinimum")),
        high=plain.get("maximum"),
    )


def _plain(said: Mapping[str, Any], schema: Any) -> Mapping[str, Any]:
    """What JSON Schema says of a value that is given: references followed, null left out."""
    for option in said.get("anyOf", ()):
        if option.get("type") != "null":
            return _plain(option, schema)
    if "$ref" in said:
        target: Mapping[str, Any] = schema["$defs"][said["$ref"].rpartition("/")[2]]
        return target
    return said


def _enum(said: Mapping[str, Any]) -> tuple[str, ...]:
    return tuple(said.get("enum", ()))


def _shown(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return _YES if value else _NO
    return str(int(value)) if isinstance(value, float) and value.is_integer() else str(value)


def _guess_words(name: str, guess: Mapping[str, Any]) -> str:
    if name == "leave_out":
        return "as guessed: yes" if guess["leave_out"] else "as guessed: no"
    if name in ("stays", "bend_range_semitones"):
        return "not said"
    if name in ("part", "players"):
        return str(guess[name] or "")
    return f"as guessed: {guess[name] or 'none'}"


def _evidence(row: Mapping[str, Any]) -> str:
    guess = row["guess"]
    if guess["leave_out"]:
        return f"Left out: {guess['leave_out']}."
    sure = f"{100 * guess['confidence']:.0f} % sure"
    return f"Guessed: {guess['instrument']}, part {guess['part']} ({sure}; {guess['evidence']})."
