"""The answer to the tempo question as text for a stand, as a table and as JSON."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator, Sequence
from itertools import groupby
from pathlib import PureWindowsPath
from typing import TYPE_CHECKING, Any

from mockcheck.model.words import cell, count_of, place_list, place_words, printable
from mockcheck.plan._places import Place, spots
from mockcheck.plan.retempo import FastestTempo, Step, TempoAnswer
from mockcheck.plots.headroom import bpm_words, interval_words, plays_up_to
from mockcheck.report._verdict import level_words
from mockcheck.report.terminal import wrap

if TYPE_CHECKING:
    import pandas as pd

SCHEMA = "mockcheck.retempo/1"

RETEMPO_COLUMNS = {
    "part": "string",
    "check": "string",
    "start_bar": "Int64",
    "start_beat": "Float64",
    "start_s": "Float64",
    "end_bar": "Int64",
    "end_beat": "Float64",
    "end_s": "Float64",
    "headroom": "Float64",
    "headroom_low": "Float64",
    "headroom_high": "Float64",
    "written_bpm": "Float64",
    "plays_to_bpm": "Float64",
    "plays_to_bpm_low": "Float64",
    "plays_to_bpm_high": "Float64",
    "binding": "string",
    "too_fast_from_percent": "Float64",
}
"""Order and kind of the columns of retempo.csv; the last is 0 for a place too fast as written, the
change of the first step at which it is too fast, or empty where it plays at all of them."""

_NARROWEST = 60
_MOST_PLACES = 12
_MOST_NAMED = 3
_MOST_BARS = 8
_LEVEL_SIGNS = 10
_ROOM_TO_SPARE = 1.5
"""A part whose tightest place plays this many times as fast is not worth a line of its own."""


def render_retempo(answer: TempoAnswer, width: int = 100) -> str:
    """A conductor reads how fast the cue goes, which bars decide, and what another tempo costs."""
    lines: list[str] = []
    for block in (
        _head(answer),
        _whole_cue(answer),
        _tight_places(answer),
        _steps("Faster", [step for step in answer.steps if step.factor > 1]),
        _steps("Slower", [step for step in answer.steps if step.factor < 1][::-1]),
        _limits(answer),
    ):
        paragraphs = list(block)
        if paragraphs and lines:
            lines.append("")
        for text, hanging in paragraphs:
            indent = " " * (len(text) - len(text.lstrip(" ")))
            lines += wrap(text.lstrip(" "), max(width, _NARROWEST), indent, " " * hanging)
    return "\n".join(lines)


def _head(answer: TempoAnswer) -> Iterator[tuple[str, int]]:
    file = printable(PureWindowsPath(answer.played.score.file).name)
    slow = answer.too_fast
    if slow:
        parts = count_of(len({place.part for place in slow}), "part")
        yield f"{file}: too fast as written, in {count_of(len(slow), 'place')} of {parts}.", 2
    elif answer.fastest:
        yield f"{file}: plays as written.", 2
    else:
        yield f"{file}: nothing here limits the tempo.", 2
    yield f"Judged at level {level_words(answer.played.session)}. {_scaling(answer)}", 2


def _scaling(answer: TempoAnswer) -> str:
    tempo, said = answer.played.score.tempo_map, answer.played.session.tempo_bpm
    if answer.bpm is None:
        return "The file counts frames and names no tempo, so tempos are shares of its speed."
    if tempo.assumed and said is None:
        return "The file names no tempo, so quarter = 120 is taken; give tempo_bpm in the brief."
    if tempo.assumed:
        return f"Quarter = {bpm_words(answer.bpm)} is from the brief; the file names no tempo."
    if len(tempo.bpm) > 1:
        first = bpm_words(answer.bpm)
        return f"'quarter =' is the first tempo, written {first}; the others scale alike."
    return f"Written: quarter = {bpm_words(answer.bpm)}."


def _whole_cue(answer: TempoAnswer) -> Iterator[tuple[str, int]]:
    if not answer.fastest:
        return
    yield "The whole cue plays up to", 0
    wide = max([_LEVEL_SIGNS, *(len(tempo.level) for tempo in answer.fastest)])
    for tempo in answer.fastest:
        yield f"  {tempo.level:{wide}} {_tempo(answer, tempo)}", wide + 3
    if answer.rest is not None:
        them = "that place is" if len(answer.too_fast) == 1 else "those places are"
        rewritten = f" once {them} rewritten"
        yield f"  {'the rest':{wide}} {_tempo(answer, answer.rest, rewritten)}", wide + 3


def _tempo(answer: TempoAnswer, tempo: FastestTempo, condition: str = "") -> str:
    return (
        f"{interval_words(tempo.low, tempo.high, answer.bpm)} ({tempo.factor:.0%}){condition}; what"
        f" decides is {_where(tempo.decided_by)}"
    )


def _where(place: Place) -> str:
    return f"{printable(place.part)}, {place_words(place.start, place.end)}"


def _tight_places(answer: TempoAnswer) -> Iterator[tuple[str, int]]:
    tight = [place for place in answer.places if place.headroom < _ROOM_TO_SPARE]
    if tight:
        yield "The tightest places", 0
    for place in tight[:_MOST_PLACES]:
        yield f"  {_where(place)}: {plays_up_to(place)}; what decides: {place.binding}", 6
    if len(tight) > _MOST_PLACES:
        more = count_of(len(tight) - _MOST_PLACES, "more place")
        yield f"  and {more}; --format csv lists every one", 6
    easy = spots(place for place in answer.places if place.headroom >= _ROOM_TO_SPARE)
    tight_parts = {place.part for place in tight}
    names = [
        f"{printable(place.part)} ({place.headroom:.0%})"
        for place in easy
        if place.part not in tight_parts
    ]
    if names:
        yield f"With room to spare: {', '.join(names)}", 2


def _steps(title: str, steps: Sequence[Step]) -> Iterator[tuple[str, int]]:
    """What each step adds to the one before; steps that add nothing share a line."""
    if not steps:
        return
    yield title, 0
    befores = [None, *steps[:-1]]
    spoken = [(step, _change(step, before)) for step, before in zip(steps, befores, strict=True)]
    for words, group in groupby(spoken, key=lambda pair: pair[1]):
        run = [step for step, _ in group]
        share = " to ".join(dict.fromkeys(percent_words(s.factor) for s in (run[0], run[-1])))
        tempos = [bpm_words(step.bpm) for step in (run[0], run[-1]) if step.bpm is not None]
        at = f", quarter = {'-'.join(dict.fromkeys(tempos))}" if tempos else ""
        yield f"  {share}{at}: {words}", 6


def percent_words(factor: float) -> str:
    """'+5%', '-12.5%'."""
    return f"{100 * (factor - 1):+.4g}%"


def _change(step: Step, before: Step | None) -> str:
    if not step.too_fast:
        return "everything plays"
    if step.factor < 1:
        known = before.opens if before is not None else ()
        new = [place for place in step.opens if place not in known]
        opens = _named(new) if new else "nothing"
        more = " more" if known and not new else ""
        return f"opens {opens}{more}; {count_of(step.too_fast, 'place')} still too fast"
    return f"breaks {_named(step.breaks)}" if step.breaks else "nothing more breaks"


def _named(places: Sequence[Place]) -> str:
    """A few places one by one with their limit, many by part and bar."""
    if len(places) <= _MOST_NAMED:
        return "; ".join(f"{_where(place)} (goes up to {_limit(place)})" for place in places)
    by_part: dict[str, list[Place]] = {}
    for place in sorted(places, key=lambda place: place.start.time_s):
        by_part.setdefault(place.part, []).append(place)
    return "; ".join(
        f"{printable(part)}, {place_list((p.start for p in own), _MOST_BARS)}"
        for part, own in by_part.items()
    )


def _limit(place: Place) -> str:
    # Rounded down: what is named must itself go.
    return percent_words(math.floor(1000 * place.headroom) / 1000)


def _limits(answer: TempoAnswer) -> Iterator[tuple[str, int]]:
    if answer.not_judged:
        names = ", ".join(printable(name) for name in answer.not_judged)
        yield (
            f"Not judged: {names}. A patch for all strings has no hand to judge; give each part a"
            " track of its own."
        ), 2  # fmt: skip
    yield (
        "Only speed is judged here. Held notes last longer at a slower tempo: review the cue again"
        " at the tempo you settle on."
    ), 2  # fmt: skip


def retempo_table(answer: TempoAnswer) -> pd.DataFrame:
    """One row for each place, tightest first; columns as in RETEMPO_COLUMNS."""
    import pandas as pd

    rows = [_row(answer, place) for place in answer.places]
    return pd.DataFrame(
        {
            name: pd.Series([row[name] for row in rows], dtype=kind)
            for name, kind in RETEMPO_COLUMNS.items()
        }
    )


def _row(answer: TempoAnswer, place: Place) -> dict[str, Any]:
    record = _place_record(place) | {"part": cell(place.part), "binding": cell(place.binding)}
    for end in ("start", "end"):
        location = record.pop(end)
        record |= {
            f"{end}_bar": location["bar"],
            f"{end}_beat": location["beat"],
            f"{end}_s": round(location["time_s"], 3),
        }
    failing = [step.factor for step in answer.steps if not place.plays_at(step.factor)]
    first = None if not failing else round(100 * (min(failing) - 1), 3)
    return record | {"too_fast_from_percent": first if place.plays_at(1.0) else 0.0}


def render_retempo_json(answer: TempoAnswer) -> str:
    """The answer as JSON text; places are referred to by their row in `places`."""
    rows = {id(place): row for row, place in enumerate(answer.places)}

    def row_of(place: Place) -> int | None:
        return rows.get(id(place))

    tempo = answer.played.score.tempo_map
    document = {
        "schema": SCHEMA,
        "file": printable(PureWindowsPath(answer.played.score.file).name),
        "level": answer.played.session.level_name,
        "written": {
            "first_bpm": _rounded(answer.bpm),
            "tempos": len(tempo.bpm),
            "assumed": tempo.assumed,
        },
        "plays_as_written": not answer.too_fast,
        "fastest": [_tempo_record(answer, item) for item in answer.fastest],
        "rest": None if answer.rest is None else _tempo_record(answer, answer.rest),
        "places": [_place_record(place) for place in answer.places],
        "steps": [
            {
                "factor": _rounded(step.factor),
                "first_bpm": _rounded(step.bpm),
                "too_fast": step.too_fast,
                "breaks": [row_of(place) for place in step.breaks],
                "opens": [row_of(place) for place in step.opens],
            }
            for step in answer.steps
        ],
        "not_judged": [printable(name) for name in answer.not_judged],
    }
    return json.dumps(document, indent=1, sort_keys=True, allow_nan=False) + "\n"


def _tempo_record(answer: TempoAnswer, tempo: FastestTempo) -> dict[str, Any]:
    bpm = answer.bpm
    shares = {"factor": tempo.factor, "factor_low": tempo.low, "factor_high": tempo.high}
    tempos = {
        name.replace("factor", "first_bpm"): None if bpm is None else bpm * share
        for name, share in shares.items()
    }
    return {
        "level": tempo.level,
        **{name: _rounded(number) for name, number in {**shares, **tempos}.items()},
        "decided_by": {
            "part": printable(tempo.decided_by.part),
            "start": tempo.decided_by.start.to_dict(),
            "end": tempo.decided_by.end.to_dict(),
            "binding": printable(tempo.decided_by.binding),
        },
    }


def _place_record(place: Place) -> dict[str, Any]:
    headroom = {
        "headroom": place.headroom,
        "headroom_low": place.headroom_low,
        "headroom_high": place.headroom_high,
    }
    tempos = {
        name.replace("headroom", "plays_to_bpm"): (
            None if place.written_bpm is None else place.written_bpm * share
        )
        for name, share in headroom.items()
    }
    return {
        "part": printable(place.part),
        "check": place.check,
        "start": place.start.to_dict(),
        "end": place.end.to_dict(),
        **{name: _rounded(number) for name, number in {**headroom, **tempos}.items()},
        "written_bpm": _rounded(place.written_bpm),
        "binding": printable(place.binding),
    }


def _rounded(number: float | None) -> float | None:
    return None if number is None else round(number, 4)
