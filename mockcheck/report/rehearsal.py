"""What to rehearse and how long recording takes, as text for a stand and as JSON."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from pathlib import PureWindowsPath
from typing import Any

from mockcheck.model.finding import Finding
from mockcheck.model.words import count_of, printable
from mockcheck.plan.heavy_bars import HeavyBar
from mockcheck.plan.minutes import Cue, Entry, SessionPlan
from mockcheck.plan.rehearsal import Exercise
from mockcheck.report._rehearsal_words import (
    ANCHOR,
    TO_READ,
    assumed_words,
    clicks_words,
    estimate_words,
    grouped_changes,
    length_words,
    limits_words,
    minutes_words,
    names_words,
    reading_words,
    seconds_words,
    spot_bars,
    troubles,
    waiting_words,
)
from mockcheck.report._verdict import level_words
from mockcheck.report.terminal import wrap

SCHEMA = "mockcheck.rehearsal/1"

_NARROWEST = 60
_Line = tuple[str, int]
"""Text with its indent, and the indent of the lines it runs on to."""


def render_rehearsal(plan: SessionPlan, width: int = 100) -> str:
    """Cue by cue what to change, what to isolate and how long it takes; then the session."""
    blocks = [list(block) for entry in plan.entries for block in _cue(entry.cue)]
    blocks.append(list(_session(plan)))
    lines: list[str] = []
    for block in filter(None, blocks):
        lines += [""] if lines else []
        for text, hanging in block:
            indent = " " * (len(text) - len(text.lstrip(" ")))
            lines += wrap(text.lstrip(" "), max(width, _NARROWEST), indent, " " * hanging)
    return "\n".join(lines)


def _cue(cue: Cue) -> Iterator[Iterator[_Line]]:
    yield _head(cue)
    yield _changes(cue)
    yield _exercises(cue)
    yield _reading(cue)
    yield _time(cue)


def _name(cue: Cue) -> str:
    return printable(PureWindowsPath(cue.file).name)


def _head(cue: Cue) -> Iterator[_Line]:
    rehearsal = cue.rehearsal
    spots = count_of(len(rehearsal.exercises), "spot")
    playing = f", {length_words(rehearsal.seconds)} of playing" if rehearsal.exercises else ""
    yield f"{_name(cue)}: {spots} to rehearse alone{playing}.", 2
    yield f"Judged at level {level_words(rehearsal.review.played.session)}.", 2


def _changes(cue: Cue) -> Iterator[_Line]:
    lines = grouped_changes(cue.rehearsal.to_change)
    if lines:
        yield "To be changed before the session; no slower tempo cures it", 2
    for line in lines:
        yield f"  {line}", 4


def _exercises(cue: Cue) -> Iterator[_Line]:
    if cue.rehearsal.exercises:
        yield "To rehearse, in this order", 2
    for exercise in cue.rehearsal.exercises:
        yield from _exercise(cue, exercise)


def _exercise(cue: Cue, exercise: Exercise) -> Iterator[_Line]:
    spot, ladder = exercise.spot, exercise.ladder
    who = names_words([part.part for part in spot.parts])
    yield f"  {exercise.number}. {spot_bars(spot)}: {who} ({waiting_words(exercise)})", 7
    for part in spot.parts:
        for trouble in troubles(part):
            yield f"     {printable(part.part)}, {trouble}", 7
    limits = limits_words(spot, cue.rehearsal.review.played.score.timeline)
    if limits is not None:
        yield f"     {limits}", 7
    yield f"     Click: {clicks_words(ladder)}; {seconds_words(ladder)}", 7


def _reading(cue: Cue) -> Iterator[_Line]:
    if cue.rehearsal.to_read:
        yield TO_READ, 2
    for row in cue.rehearsal.to_read:
        yield f"  {reading_words(row)}", 4


def _time(cue: Cue) -> Iterator[_Line]:
    yield f"Recording: {estimate_words(cue)}.", 2
    items = ", ".join(f"{name} {seconds / 60:.1f}" for name, seconds in cue.estimate.items)
    yield f"  As a rule, in minutes: {items}.", 4


def _session(plan: SessionPlan) -> Iterator[_Line]:
    if len(plan.entries) > 1:
        shortest, longest = minutes_words(plan.quick_s), minutes_words(plan.slow_s)
        usual = minutes_words(plan.usual_s)
        yield f"The session: {shortest} to {longest}, as a rule {usual}, breaks included.", 2
        for entry in plan.entries:
            yield from _entry(entry)
        yield f"The risk is {_name(plan.risk)}: nothing else may take so much longer.", 2
    yield assumed_words(plan.risk.assumed), 2
    yield ANCHOR, 2


def _entry(entry: Entry) -> Iterator[_Line]:
    if entry.is_after_break:
        yield "  break", 4
    inside = f", {count_of(entry.breaks_inside, 'break')} within" if entry.breaks_inside else ""
    length = minutes_words(entry.cue.estimate.usual_s)
    yield f"  after {minutes_words(entry.begins_s)}: {_name(entry.cue)}, {length}{inside}", 4


def render_rehearsal_json(plan: SessionPlan) -> str:
    """The same as JSON text; cues in the order of the session."""
    document = {
        "schema": SCHEMA,
        "cues": [_cue_record(entry.cue) for entry in plan.entries],
        "session": {
            "quick_s": _rounded(plan.quick_s),
            "usual_s": _rounded(plan.usual_s),
            "slow_s": _rounded(plan.slow_s),
            "risk": [entry.cue is plan.risk for entry in plan.entries].index(True),
            "order": [
                {
                    "begins_s": _rounded(entry.begins_s),
                    "after_break": entry.is_after_break,
                    "breaks_within": entry.breaks_inside,
                }
                for entry in plan.entries
            ],
            "assumed": plan.risk.assumed.model_dump(),
        },
    }
    return json.dumps(document, indent=1, sort_keys=True, allow_nan=False) + "\n"


def _cue_record(cue: Cue) -> dict[str, Any]:
    rehearsal, own = cue.rehearsal, cue.estimate
    return {
        "file": _name(cue),
        "level": rehearsal.review.played.session.level_name,
        "music_s": _rounded(cue.demands.music_s),
        "rehearsal_s": _rounded(rehearsal.seconds),
        "spots": [_spot_record(exercise) for exercise in rehearsal.exercises],
        "to_change": [_finding_record(finding) for finding in rehearsal.to_change],
        "to_read": [
            {"part": printable(row.part), "bars": _bar_records(row.bars)}
            for row in rehearsal.to_read
        ],
        "recording": {
            "quick_s": _rounded(own.quick_s),
            "usual_s": _rounded(own.usual_s),
            "slow_s": _rounded(own.slow_s),
            "finished_minutes_per_hour": _rounded(cue.per_hour(own.usual_s)),
            "usual": {name: _rounded(seconds) for name, seconds in own.items},
        },
    }


def _spot_record(exercise: Exercise) -> dict[str, Any]:
    spot, ladder = exercise.spot, exercise.ladder
    return {
        "first_bar": spot.first_bar_index + 1,
        "last_bar": spot.last_bar_index + 1,
        "headroom_at_sight": _rounded(spot.headroom),
        "parts": [
            {
                "part": printable(part.part),
                "headroom_at_sight": _rounded(part.headroom),
                "findings": [_finding_record(finding) for finding in part.findings],
                "heavy_bars": _bar_records(part.heavy),
            }
            for part in spot.parts
        ],
        "waiting": [printable(name) for name in exercise.waiting],
        "beat": ladder.beat,
        "passes": [
            {
                "share": rung.share,
                "click_bpm": _rounded(rung.click_bpm),
                "count_in_s": _rounded(rung.count_in_s),
                "seconds": _rounded(rung.seconds),
            }
            for rung in ladder.rungs
        ],
    }


def _bar_records(bars: Sequence[HeavyBar]) -> list[dict[str, Any]]:
    return [
        {
            "bar": bar.bar_index + 1,
            "load": _rounded(bar.load),
            "reasons": list(bar.reasons),
        }
        for bar in bars
    ]


def _finding_record(finding: Finding) -> dict[str, Any]:
    return {
        "id": finding.id,
        "check": finding.check,
        "severity": finding.severity.label,
        "part": printable(finding.part),
        "start": finding.start.to_dict(),
        "end": finding.end.to_dict(),
        "message": printable(finding.message),
    }


def _rounded(number: float) -> float | None:
    return None if number == float("inf") else round(number, 3)
