"""The answer to the tempo question as text for a stand, as a table and as JSON."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from pathlib import PureWindowsPath
from typing import TYPE_CHECKING, Any

from mockcheck.plan._places import Place
from mockcheck.plan.retempo import FastestTempo, Step, TempoAnswer, WiderPlace
from mockcheck.plots._words import count_of, place_words, printable
from mockcheck.report._verdict import LEVEL_WORDS
from mockcheck.report.tables import cell
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

_MOST_PLACES = 12
_MOST_NAMED = 5


def render_retempo(answer: TempoAnswer, width: int = 100) -> str:
    """A conductor reads how fast the cue goes, which bars decide, and what another tempo costs."""
    lines: list[str] = []
    for text, indent in _paragraphs(answer):
        lines += wrap(text, max(width, 60), indent=indent)
    return "\n".join(lines)


def _paragraphs(answer: TempoAnswer) -> Iterator[tuple[str, str]]:
    yield _verdict(answer), "  "
    level = answer.played.session.level
    yield f"Judged at level {level}: {LEVEL_WORDS[level]}. {_scaling(answer)}", "  "
    if answer.fastest:
        yield "", ""
        yield "The whole cue plays up to", ""
        for tempo in answer.fastest:
            yield f"  {tempo.level:10} {_tempo(answer, tempo)}", " " * 13
    if answer.rest is not None:
        yield f"  {'the rest':10} {_rest(answer, answer.rest)}", " " * 13
    if answer.places:
        yield "", ""
        yield "The tightest places", ""
        for place in answer.places[:_MOST_PLACES]:
            yield f"  {_place(place)}", "      "
        hidden = len(answer.places) - _MOST_PLACES
        if hidden > 0:
            yield f"  and {count_of(hidden, 'more place')}; --format csv lists them all", ""
    yield from _other_tempos(answer)
    if answer.not_judged:
        names = ", ".join(printable(name) for name in answer.not_judged)
        yield "", ""
        yield (
            (
                f"Not judged: {names}. A patch for all strings has no hand to judge; give each"
                " part a track of its own."
            ),
            "  ",
        )
    yield "", ""
    yield (
        (
            "Only speed is judged here. Held notes last longer at a slower tempo: review the cue again"
            " at the tempo you settle on."
        ),
        "  ",
    )


def _verdict(answer: TempoAnswer) -> str:
    file = printable(PureWindowsPath(answer.played.score.file).name)
    slow = answer.too_fast
    if slow:
        parts = count_of(len({place.part for place in slow}), "part")
        return f"{file}: too fast as written, in {count_of(len(slow), 'place')} of {parts}."
    if not answer.fastest:
        return f"{file}: nothing here limits the tempo."
    return f"{file}: plays as written."


def _scaling(answer: TempoAnswer) -> str:
    if answer.bpm is None:
        return "The file counts frames and names no tempo, so tempos are shares of its speed."
    tempo = answer.played.score.tempo_map
    if tempo.assumed:
        return "The file names no tempo, so quarter = 120 is taken; give tempo_bpm in the brief."
    if len(tempo.bpm) > 1:
        return (
            f"'Quarter =' is the first tempo, written {answer.bpm:.0f}; the others scale with it."
        )
    return f"Written: quarter = {answer.bpm:.0f}."


def _tempo(answer: TempoAnswer, tempo: FastestTempo) -> str:
    return (
        f"{_interval(tempo.low, tempo.high, answer.bpm)}, {tempo.factor:.0%} of the written tempo;"
        f" {_where(tempo.decided_by)} decides"
    )


def _rest(answer: TempoAnswer, tempo: FastestTempo) -> str:
    count = count_of(len(answer.too_fast), "place")
    return (
        f"{_interval(tempo.low, tempo.high, answer.bpm)}, {tempo.factor:.0%}, once the {count} too"
        f" fast as written {'is' if len(answer.too_fast) == 1 else 'are'} rewritten;"
        f" {_where(tempo.decided_by)} decides"
    )


def _interval(low: float, high: float, bpm: float | None) -> str:
    """'quarter = 112-128', or shares of the written speed where no tempo is known."""
    if bpm is None:
        ends, unit = (f"{low:.0%}", f"{high:.0%}"), "{} of its speed"
    else:
        ends, unit = (f"{bpm * low:.0f}", f"{bpm * high:.0f}"), "quarter = {}"
    return unit.format(ends[0] if ends[0] == ends[1] else f"{ends[0]}-{ends[1]}")


def _where(place: Place) -> str:
    return f"{printable(place.part)}, {place_words(place.start, place.end)},"[:-1]


def plays_up_to(place: Place) -> str:
    """'plays up to quarter = 112-128, written 144'."""
    words = f"plays up to {_interval(place.headroom_low, place.headroom_high, place.written_bpm)}"
    return words if place.written_bpm is None else f"{words}, written {place.written_bpm:.0f}"


def _place(place: Place) -> str:
    return f"{_where(place)}: {plays_up_to(place)} ({place.headroom:.0%}): {place.binding}"


def _other_tempos(answer: TempoAnswer) -> Iterator[tuple[str, str]]:
    slower = [step for step in answer.steps if step.factor < 1]
    faster = [step for step in answer.steps if step.factor > 1]
    if faster:
        yield "", ""
        yield "Faster", ""
        for step in faster:
            yield f"  {_step_head(step)}  {_breaking(step)}", " " * 26
    if slower:
        yield "", ""
        yield "Slower", ""
        for step in reversed(slower):
            yield f"  {_step_head(step)}  {_opening(step)}", " " * 26


def _step_head(step: Step) -> str:
    tempo = "" if step.bpm is None else f"quarter = {step.bpm:.0f}"
    return f"{percent_words(step.factor):>7}  {tempo:13}"


def percent_words(factor: float) -> str:
    """'+5 %', '-12.5 %'."""
    return f"{100 * (factor - 1):+.4g} %"


def _breaking(step: Step) -> str:
    words = []
    if step.breaks:
        words.append(f"breaks {_named([_until(place) for place in step.breaks])}")
    if step.wider:
        words.append(f"spreads to {_named([_span(place) for place in step.wider])}")
    if words:
        return "; ".join(words)
    return "nothing more breaks" if step.too_fast else "everything plays"


def _opening(step: Step) -> str:
    if not step.too_fast:
        return "everything plays"
    left = f"{step.too_fast:,} still too fast"
    if not step.opens:
        return f"opens nothing; {left}"
    return f"opens {_named([_where(place) for place in step.opens])}; {left}"


def _until(place: Place) -> str:
    return f"{_where(place)} (goes up to {percent_words(round(place.headroom, 3))})"


def _span(place: WiderPlace) -> str:
    return f"{printable(place.part)}, {place_words(place.start, place.end)}"


def _named(words: Sequence[str]) -> str:
    rest = len(words) - _MOST_NAMED
    return "; ".join(words[:_MOST_NAMED]) + (f"; and {rest:,} more" if rest > 0 else "")


def retempo_table(answer: TempoAnswer) -> pd.DataFrame:
    """One row for each place, tightest first; columns as in RETEMPO_COLUMNS."""
    import pandas as pd

    rows = [_row(answer, place) for place in answer.places]
    return pd.DataFrame(
        {
            name: pd.Series([row[name] for row in rows], dtype=kind)  # type: ignore[call-overload]  # kinds are names of pandas dtypes
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
        "level": str(answer.played.session.level),
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
                "wider": [
                    {"part": place.part, "start": place.start.to_dict(), "end": place.end.to_dict()}
                    for place in step.wider
                ],
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
        "level": str(tempo.level),
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
