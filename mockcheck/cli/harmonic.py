"""`mockcheck harmonic`: every way to play and to write one sounding harmonic."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import click

from mockcheck.cli._questions import (
    CAUTION,
    evidence_record,
    headed,
    instrument_named,
    octave_of,
    pitches_named,
    print_json,
    print_text,
    question_options,
    sounding_reminder,
)
from mockcheck.errors import BadBrief
from mockcheck.units import SEMITONES_PER_OCTAVE, pitch_name

if TYPE_CHECKING:
    from mockcheck.model.instrument import Instrument
    from mockcheck.playing import HarmonicWay

SCHEMA = "mockcheck.harmonic/1"

NATURAL_AND_ARTIFICIAL = (
    "Natural harmonics ring more freely and take little vibrato; artificial ones can be vibrated."
)
CIRCLE_IS_ENOUGH = (
    "The sounding note with a circle is enough: the player finds the place. Add 'sul' and the"
    " string only to ask for one place."
)
DIAMOND_IS_CLEAR = "The stopped note with a diamond shows both fingers, so it leaves no doubt."
"""Source of all three: common practice, no source."""

_WAYS_SHOWN = 6
_BESIDE_CENTS = 10.0
"""From here on a finger that touches where it would stop the note misses the node (estimate)."""
_BETWEEN_CENTS = 20.0
"""From here on a note's name no longer says where to touch (estimate)."""

_OCTAVES = ("", "an octave", "two octaves", "three octaves")
_WITHIN_OCTAVE = (
    "",
    "a semitone",
    "a whole tone",
    "a minor third",
    "a major third",
    "a fourth",
    "a tritone",
    "a fifth",
    "a minor sixth",
    "a major sixth",
    "a minor seventh",
    "a major seventh",
)


@click.command(epilog="Example: mockcheck harmonic violin G5")
@click.argument("instrument", metavar="INSTRUMENT")
@click.argument("note", metavar="NOTE")
@click.option("--all", "show_all", is_flag=True, help="Print every way, however hard.")
@question_options
def command(instrument: str, note: str, show_all: bool, middle_c: str, output_format: str) -> None:
    """List the ways to play and to write one sounding note as a harmonic, easiest first."""
    from mockcheck.playing import explain_no_harmonic, harmonics

    player = instrument_named(instrument)
    pitches = pitches_named([note], middle_c)
    if len(pitches) > 1:
        message = f"NOTE: '{note}' is {len(pitches)} notes. Ask for one harmonic at a time."
        raise BadBrief(message)
    octave = octave_of(middle_c)
    ways = harmonics(player, pitches[0], middle_c_octave=octave)
    reason = explain_no_harmonic(player, pitches[0], middle_c_octave=octave)
    if output_format == "json":
        print_json(_record(player, pitches[0], octave, ways, reason))
    elif reason is not None:
        print_text([f"{headed(player)}: {reason}", *sounding_reminder(player)])
    else:
        shown = len(ways) if show_all else _WAYS_SHOWN
        print_text(_lines(player, octave, ways[:shown], len(ways[shown:])))


def _lines(
    instrument: Instrument, octave: int, ways: tuple[HarmonicWay, ...], left_out: int
) -> Iterator[str]:
    total = len(ways) + left_out
    count = "one way" if total == 1 else f"{total} ways, easiest first"
    sound = pitch_name(ways[0].sounding_pitch, octave)
    yield f"{sound} as a harmonic on the {instrument.id}: {count}."
    for number, way in enumerate(ways, start=1):
        yield ""
        yield f"{number}. {way.verdict.capitalize()}: {_how(way, octave)}"
        if way.verdict != "easy":
            yield f"   {way.reason}"
        yield f"   Write {', or '.join(way.notations)}."
    yield ""
    if left_out:
        yield f"{left_out} more, none easier: add --all to see them."
    kinds = {way.kind for way in ways}
    yield CIRCLE_IS_ENOUGH if "natural" in kinds else DIAMOND_IS_CLEAR
    if len(kinds) > 1:
        yield NATURAL_AND_ARTIFICIAL
    if any(way.is_wide_stretch for way in ways):
        yield CAUTION
    yield from sounding_reminder(instrument)


def _how(way: HarmonicWay, octave: int) -> str:
    from mockcheck.playing.demands import finger_name

    if way.stopped_pitch is None:
        return (
            f"natural, on the {way.string} string. Touch {_place(way, octave)} above the open"
            f" string, {way.touched_mm:.0f} mm from the nut."
        )
    firm, light = (
        "thumb" if finger < 0 else f"{finger_name(finger)} finger" for finger in way.fingers
    )
    stopped, touched = (
        pitch_name(pitch, octave) for pitch in (way.stopped_pitch, way.touched_pitch)
    )
    return (
        f"artificial, on the {way.string} string. The {firm} stops {stopped}, the {light} touches"
        f" {touched}, {_interval(way.touched_pitch - way.stopped_pitch)} above,"
        f" {way.reach_mm:.0f} mm away."
    )


def _place(way: HarmonicWay, octave: int) -> str:
    """The touched place in words: on a note, beside it, or between two; and its interval."""
    cents = 100.0 * (way.touched_semitones - round(way.touched_semitones))
    name = pitch_name(way.touched_pitch, octave)
    interval = _interval(round(way.touched_semitones))
    if abs(cents) < _BESIDE_CENTS:
        return f"{name}, {interval}"
    if abs(cents) <= _BETWEEN_CENTS:
        return f"a little {'above' if cents > 0 else 'below'} {name}, about {interval}"
    other = way.touched_pitch + (1 if cents > 0 else -1)
    low, high = sorted((way.touched_pitch, other))
    return f"between {pitch_name(low, octave)} and {pitch_name(high, octave)}, about {interval}"


def _interval(semitones: int) -> str:
    octaves, rest = divmod(semitones, SEMITONES_PER_OCTAVE)
    return " and ".join(words for words in (_OCTAVES[octaves], _WITHIN_OCTAVE[rest]) if words)


def _record(
    instrument: Instrument,
    pitch: int,
    octave: int,
    ways: tuple[HarmonicWay, ...],
    reason: str | None,
) -> dict[str, Any]:
    return {
        "schema": SCHEMA,
        "instrument": instrument.id,
        "note": pitch_name(pitch, octave),
        "pitch": pitch,
        "ways": [_way_record(way, octave) for way in ways],
        "reason": reason,
        "caution": CAUTION if any(way.is_wide_stretch for way in ways) else None,
    }


def _way_record(way: HarmonicWay, octave: int) -> dict[str, Any]:
    stopped = way.stopped_pitch
    return {
        "kind": way.kind,
        "verdict": way.verdict,
        "reason": way.reason,
        "string": way.string,
        "string_index": way.string_index,
        "partial": way.partial,
        "stopped_note": None if stopped is None else pitch_name(stopped, octave),
        "stopped_pitch": stopped,
        "stopped_semitones": way.stopped_semitones,
        "touched_note": pitch_name(way.touched_pitch, octave),
        "touched_pitch": way.touched_pitch,
        "touched_semitones": round(way.touched_semitones, 2),
        "touched_mm": round(way.touched_mm, 1),
        "reach_mm": round(way.reach_mm, 1),
        "fingers": list(way.fingers),
        "cents_off": round(way.cents_off, 1),
        "notations": list(way.notations),
        "evidence": evidence_record(way.evidence),
    }
