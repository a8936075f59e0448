"""`mockcheck chord`: whether one player can play some notes at once, and how."""

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
from mockcheck.units import pitch_name

if TYPE_CHECKING:
    from mockcheck.model.instrument import Instrument
    from mockcheck.playing import ChordAnswer, Division

SCHEMA = "mockcheck.chord/1"

_SUSTAINED = {
    "together": "The bow can hold the notes together.",
    "together only loud and short": (
        "The bow holds three notes together only when loud and short; otherwise break the chord."
    ),
    "broken": "The bow cannot hold so many notes together: break the chord.",
}


@click.command(epilog="Example: mockcheck chord violin G3 B4 E5")
@click.argument("instrument", metavar="INSTRUMENT")
@click.argument("notes", nargs=-1, required=True, metavar="NOTES...")
@click.option(
    "--players",
    type=click.IntRange(min=1),
    help="Players of the part, to share the chord out among. [default: as few as do it well]",
)
@question_options
def command(
    instrument: str, notes: tuple[str, ...], players: int | None, middle_c: str, output_format: str
) -> None:
    """Say whether one player can play these sounding notes at once: strings, fingers, stretch.

    A chord that one player cannot, or should not, play is shared out.
    """
    from mockcheck.playing import chord

    player = instrument_named(instrument)
    octave = octave_of(middle_c)
    answer = chord(player, pitches_named(notes, middle_c), middle_c_octave=octave)
    division = _division(player, answer, players, octave)
    if output_format == "json":
        print_json(_record(player, answer, division, octave))
    else:
        print_text(_lines(player, answer, division, octave))


def _division(
    instrument: Instrument, answer: ChordAnswer, players: int | None, octave: int
) -> Division | None:
    """How to share it out, where that is asked for or safer; None where it changes nothing."""
    from mockcheck.playing import divide

    if players is not None:
        asked = divide(instrument, answer.pitches, players, middle_c_octave=octave)
        is_same = asked is not None and answer.is_playable and len(asked.lines) == 1
        return None if is_same else asked
    if answer.verdict in ("easy", "possible"):
        return None
    division = None
    for count in range(2, len(set(answer.pitches)) + 1):
        division = divide(instrument, answer.pitches, count, middle_c_octave=octave)
        if division is None:
            break
        # The fewest players of whom none has a hard double stop.
        if division.is_enough and all(line.verdict != "hard" for line in division.lines):
            break
    return division


def _is_strained(answer: ChordAnswer) -> bool:
    from mockcheck.playing.demands import FINGER_DISTANCE

    evidence = answer.evidence
    is_wide = evidence is not None and evidence.quantity == FINGER_DISTANCE
    return is_wide and answer.verdict == "hard"


def _lines(
    instrument: Instrument, answer: ChordAnswer, division: Division | None, octave: int
) -> Iterator[str]:
    names = [pitch_name(pitch, octave) for pitch in answer.pitches]
    yield f"{headed(instrument)}, {' '.join(names)}: {answer.verdict} for one player."
    if answer.verdict != "easy":
        yield answer.reason
    if answer.is_playable:
        yield from _how(instrument, answer, names)
    if division is not None:
        yield _shared_out(answer, division)
    elif not answer.is_playable:
        yield _not_shared_out(instrument, answer, octave)
    if _is_strained(answer):
        yield CAUTION
    yield from sounding_reminder(instrument)


def _how(instrument: Instrument, answer: ChordAnswer, names: list[str]) -> Iterator[str]:
    from mockcheck.playing.demands import finger_name
    from mockcheck.playing.fingerboard import fingerboard
    from mockcheck.playing.hand import OPEN, THUMB

    board = fingerboard(instrument)
    places = list(zip(names, answer.strings, answer.fingers, strict=True))
    for name, string, finger in reversed(places):
        words = {OPEN: "open", THUMB: "thumb"}.get(finger) or f"{finger_name(finger)} finger"
        yield f"  {name:4} {board.string_letter(string)} string, {words}"
    if answer.stretch_mm > 0.0:
        yield f"The outer fingers stand {answer.stretch_mm:.0f} mm apart."
    if len(names) > 1 and answer.sustained is not None:
        yield _SUSTAINED[answer.sustained]


def _shared_out(answer: ChordAnswer, division: Division) -> str:
    suggestion = division.suggestion
    if not answer.is_playable:
        return suggestion
    head = "Safer" if answer.verdict == "hard" else "Shared out"
    return f"{head}: {suggestion[0].lower()}{suggestion[1:]}"


def _not_shared_out(instrument: Instrument, answer: ChordAnswer, octave: int) -> str:
    from mockcheck.playing import chord

    outside = [
        pitch_name(pitch, octave)
        for pitch in answer.pitches
        if not chord(instrument, (pitch,)).is_playable
    ]
    return f"Give {' and '.join(outside)} to another instrument; dividing does not help."


def _record(
    instrument: Instrument, answer: ChordAnswer, division: Division | None, octave: int
) -> dict[str, Any]:
    return {
        "schema": SCHEMA,
        "instrument": instrument.id,
        "verdict": answer.verdict,
        "reason": answer.reason,
        "failure": answer.failure,
        "notes": _note_records(instrument, answer, octave),
        "stretch_mm": round(answer.stretch_mm, 1),
        "sustained": answer.sustained,
        "evidence": evidence_record(answer.evidence),
        "division": None if division is None else _division_record(division, octave),
        "caution": CAUTION if _is_strained(answer) else None,
    }


def _note_records(instrument: Instrument, answer: ChordAnswer, octave: int) -> list[dict[str, Any]]:
    from mockcheck.playing.fingerboard import fingerboard

    board = fingerboard(instrument)
    records = []
    for index, pitch in enumerate(answer.pitches):
        string = answer.strings[index] if answer.is_playable else None
        records.append(
            {
                "note": pitch_name(pitch, octave),
                "pitch": pitch,
                "string": None if string is None else board.string_letter(string),
                "string_index": string,
                "finger": None if string is None else answer.fingers[index],
                "stop_semitones": None if string is None else answer.stops_semitones[index],
            }
        )
    return records


def _division_record(division: Division, octave: int) -> dict[str, Any]:
    return {
        "lines": [
            {
                "notes": [pitch_name(pitch, octave) for pitch in line.pitches],
                "pitches": list(line.pitches),
                "players": line.players,
                "verdict": line.verdict,
            }
            for line in division.lines
        ],
        "players": division.players,
        "fewest_lines": division.fewest_lines,
        "is_enough": division.is_enough,
        "suggestion": division.suggestion,
    }
