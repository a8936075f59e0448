"""`mockcheck harmonic`: every way to play and to write one sounding harmonic."""

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
    from mockcheck.playing import HarmonicWay

SCHEMA = "mockcheck.harmonic/1"

_WAYS_SHOWN = 6

NATURAL_AND_ARTIFICIAL = (
    "Natural harmonics ring more freely and take little vibrato; artificial ones can be vibrated."
)
NOTATION = (
    "The sounding note with a circle is enough: players know where to find it. 'sul' and the"
    " string only ask for one place."
)

_SIMPLE_INTERVALS = {
    1: "minor second",
    2: "major second",
    3: "minor third",
    4: "major third",
    5: "fourth",
    6: "tritone",
    7: "fifth",
    8: "minor sixth",
    9: "major sixth",
    10: "minor seventh",
    11: "major seventh",
}
_OCTAVES = ("", "an octave", "two octaves", "three octaves")
_CLEARLY_BESIDE_CENTS = 10.0


@click.command(epilog="Example: mockcheck harmonic violin G5")
@click.argument("instrument", metavar="INSTRUMENT")
@click.argument("note", metavar="NOTE")
@click.option("--all", "show_all", is_flag=True, help="Print every way, however hard.")
@question_options
def command(instrument: str, note: str, show_all: bool, middle_c: str, output_format: str) -> None:
    """List the ways to play and to write one sounding note as a harmonic, easiest first."""
    from mockcheck.playing import explain_no_harmonic, harmonics

    found = instrument_named(instrument)
    pitch = _one_pitch(note, middle_c)
    octave = octave_of(middle_c)
    ways = harmonics(found, pitch, middle_c_octave=octave)
    reason = explain_no_harmonic(found, pitch, middle_c_octave=octave)
    if output_format == "json":
        record = _record(found, pitch, octave, ways, reason)
        click.echo(json.dumps(record, indent=2, ensure_ascii=False))
        return
    if reason is not None:
        click.echo(_no_way(found, reason))
        return
    shown = ways if show_all else ways[:_WAYS_SHOWN]
    click.echo("\n".join(_lines(found, pitch, octave, shown, len(ways) - len(shown))))
