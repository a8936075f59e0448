"""`mockcheck chord`: whether one player can play some notes at once, and how."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import click

from mockcheck.cli._questions import (
    CAUTION,
    evidence_record,
    instrument_named,
    octave_of,
    pitches_named,
    question_options,
    sounding_note,
)

if TYPE_CHECKING:
    from mockcheck.model.instrument import Instrument
    from mockcheck.playing import ChordAnswer, Division

SCHEMA = "mockcheck.chord/1"


@click.command(epilog="Example: mockcheck chord violin G3 B4 E5")
@click.argument("instrument", metavar="INSTRUMENT")
@click.argument("notes", nargs=-1, required=True, metavar="NOTES...")
@click.option(
    "--players",
    type=click.IntRange(min=1),
    help="Players of the part, to share the chord out among. [default: as few as can do it]",
)
@question_options
def command(
    instrument: str, notes: tuple[str, ...], players: int | None, middle_c: str, output_format: str
) -> None:
    """Say whether one player can play these sounding notes at once: strings, fingers, stretch.

    A chord that one player cannot, or should not, play is divided.
    """
    from mockcheck.playing import chord

    found = instrument_named(instrument)
    pitches = pitches_named(notes, middle_c)
    octave = octave_of(middle_c)
    answer = chord(found, pitches, middle_c_octave=octave)
    division = _division(found, answer, players, octave)
    if output_format == "json":
        record = _record(found, answer, division, octave)
        click.echo(json.dumps(record, indent=2, ensure_ascii=False))
    else:
        click.echo("\n".join(_lines(found, answer, division, octave)))


def _division(
    instrument: Instrument, answer: ChordAnswer, players: int | None, octave: int
) -> Division | None:
    """How to share it out, where asked for or better than one player; None where it is neither."""
    from mockcheck.playing import divide

    pitches = answer.pitches
    is_better_shared = answer.verdict in ("hard", "impossible") and len(set(pitches)) > 1
    if players is None and not is_better_shared:
        return None
    if players is None:
        fewest = divide(instrument, pitches, 1)
        # A hard double stop can be played alone; two players are what makes it easier.
        players = 2 if fewest is None else max(2, fewest.fewest_lines)
    return divide(instrument, pitches, players, middle_c_octave=octave)


def _is_strained(answer: ChordAnswer) -> bool:
    from mockcheck.playing.demands import FINGER_DISTANCE

    evidence = answer.evidence
    is_wide = evidence is not None and evidence.quantity == FINGER_DISTANCE
    return is_wide and answer.verdict == "hard"


def _lines(
    instrument: Instrument, answer: ChordAnswer, division: Division | None, octave: int
) -> Iterator[str]:
    from mockcheck.playing import chord
    from mockcheck.units import pitch_name

    names = [pitch_name(pitch, octave) for pitch in answer.pitches]
    yield f"{instrument.id.capitalize()}, {' '.join(names)}: {answer.verdict} for one player."
    if answer.verdict != "easy":
        yield answer.reason
    if answer.is_playable:
        yield from _how(instrument, answer, names)
    if division is not None:
        is_choice = answer.verdict in ("easy", "possible")
        yield f"{'Or share it out' if is_choice else 'Better'}: {division.suggestion}"
    elif not answer.is_playable:
        outside = [
            name
            for name, pitch in zip(names, answer.pitches, strict=True)
            if not chord(instrument, (pitch,)).is_playable
        ]
        yield f"Dividing does not help: give {', '.join(outside)} to another instrument."
    if _is_strained(answer):
        yield CAUTION
    reminder = sounding_note(instrument)
    if reminder is not None:
        yield reminder


def _how(instrument: Instrument, answer: ChordAnswer, names: list[str]) -> Iterator[str]:
    from mockcheck.playing.demands import finger_name
    from mockcheck.playing.fingerboard import fingerboard

    board = fingerboard(instrument)
    for name, string, finger in reversed(
        list(zip(names, answer.strings, answer.fingers, strict=True))
    ):
        words = {0: "open", -1: "thumb"}.get(finger) or f"{finger_name(finger)} finger"
        yield f"  {name:4} {board.string_letter(string)} string, {words}"
    if answer.stretch_mm > 0:
        yield f"The stretch between the outer fingers is {answer.stretch_mm:.0f} mm."
    if len(names) > 1:
        yield {
            "together": "The bow can hold the notes together.",
            "together only loud and short": (
                "The bow holds three notes together only when loud and short; otherwise break it."
            ),
            "broken": "The bow cannot hold four notes: break the chord, two notes and two.",
        }[answer.sustained or "broken"]


def _record(
    instrument: Instrument, answer: ChordAnswer, division: Division | None, octave: int
) -> dict[str, Any]:
    from mockcheck.playing.fingerboard import fingerboard
    from mockcheck.units import pitch_name

    board = fingerboard(instrument)
    notes: list[dict[str, Any]] = []
    for index, pitch in enumerate(answer.pitches):
        note: dict[str, Any] = {"note": pitch_name(pitch, octave), "pitch": pitch}
        is_held = answer.is_playable
        string = answer.strings[index] if is_held else None
        note["string"] = board.string_letter(string) if string is not None else None
        note["string_index"] = string
        note["finger"] = answer.fingers[index] if is_held else None
        note["stop_semitones"] = answer.stops_semitones[index] if is_held else None
        notes.append(note)
    return {
        "schema": SCHEMA,
        "instrument": instrument.id,
        "verdict": answer.verdict,
        "reason": answer.reason,
        "failure": answer.failure,
        "notes": notes,
        "stretch_mm": round(answer.stretch_mm, 1),
        "sustained": answer.sustained,
        "evidence": evidence_record(answer.evidence),
        "division": _division_record(division, octave),
        "caution": CAUTION if _is_strained(answer) else None,
    }


def _division_record(division: Division | None, octave: int) -> dict[str, Any] | None:
    from mockcheck.units import pitch_name

    if division is None:
        return None
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
