"""What questions about one chord or one note share: names read in, and the options."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import TYPE_CHECKING, Any

import click

from mockcheck.cli._options import format_option
from mockcheck.errors import BadBrief
from mockcheck.units import pitch_from_name

if TYPE_CHECKING:
    from mockcheck.model.finding import Evidence
    from mockcheck.model.instrument import Instrument

MIDDLE_C = ("C3", "C4", "C5")

CAUTION = (
    "Caution: a wide stretch can strain a hand, the more so when it is held or repeated. These"
    " limits are no medical advice: the player decides, and pain is a matter for a professional."
)

_WIDTH = 96
_SPELLINGS = str.maketrans({"♯": "#", "♭": "b", "−": "-"})


def question_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Add --middle-c and --format."""
    middle_c = click.option(
        "--middle-c",
        type=click.Choice(MIDDLE_C, case_sensitive=False),
        default="C4",
        show_default=True,
        metavar="C3|C4|C5",
        help="What you call middle C, MIDI note 60.",
    )
    return middle_c(format_option("text", "json")(command))


def octave_of(middle_c: str) -> int:
    """The octave number in 'C4'."""
    return int(middle_c[-1])


def instrument_named(name: str) -> Instrument:
    """An instrument by any of the names that tracks carry, as in 'vla', 'Geige' or 'bass'.

    Raises BadBrief, with the instruments there are, for anything else and for a whole body.
    """
    from mockcheck.instruments import instrument, instrument_ids
    from mockcheck.read.track_names import read_name

    said = read_name(name)
    if said.instrument is not None and said.other is None:
        found = instrument(said.instrument)
        if not found.is_ensemble:
            return found
    known = ", ".join(known for known in instrument_ids() if not instrument(known).is_ensemble)
    message = (
        f"INSTRUMENT: '{name}' is not one bowed string instrument. Write one of: {known}; short"
        " and foreign names do as well, as in vla, db or Geige."
    )
    raise BadBrief(message)


def pitches_named(names: Sequence[str], middle_c: str) -> tuple[int, ...]:
    """Notes as MIDI pitches, in the order given; commas part them as spaces do.

    Raises BadBrief, with the accepted forms, for a name that is no note or that MIDI has no
    number for.
    """
    words = [word for name in names for word in name.replace(",", " ").split()]
    if not words:
        message = f"NOTE: none is given. {_forms(middle_c)}"
        raise BadBrief(message)
    return tuple(_pitch_named(word, middle_c) for word in words)


def evidence_record(evidence: Evidence | None) -> dict[str, Any] | None:
    """The number that decides, for JSON."""
    if evidence is None:
        return None
    return {
        "quantity": evidence.quantity,
        "measured": round(evidence.measured, 1),
        "limit": round(evidence.limit, 1),
        "unit": evidence.unit,
    }


def sounding_reminder(instrument: Instrument) -> tuple[str, ...]:
    """A line for the bass, which sounds an octave below what is written; else none."""
    if not instrument.id.startswith("double bass"):
        return ()
    return ("All notes are as they sound; a bass part is written an octave higher.",)


def headed(instrument: Instrument) -> str:
    """The instrument's name at the head of a sentence."""
    return instrument.id[0].upper() + instrument.id[1:]


def print_text(lines: Iterable[str]) -> None:
    """Wrap each line to a screen, under its own indent."""
    import textwrap

    for line in lines:
        indent = " " * (len(line) - len(line.lstrip(" ")) + 3 * line[:1].isdigit())
        click.echo(textwrap.fill(line, _WIDTH, subsequent_indent=indent))


def print_json(record: dict[str, Any]) -> None:
    """JSON and nothing else, keys in the order of the record."""
    import json

    click.echo(json.dumps(record, indent=2, ensure_ascii=False))


def _pitch_named(word: str, middle_c: str) -> int:
    try:
        pitch = pitch_from_name(word.translate(_SPELLINGS), octave_of(middle_c))
    except ValueError:
        message = f"NOTE: '{word}' is not a note. {_forms(middle_c)}"
        raise BadBrief(message) from None
    if not 0 <= pitch <= 127:
        message = f"NOTE: '{word}' lies outside the MIDI notes 0 to 127. {_forms(middle_c)}"
        raise BadBrief(message)
    return pitch


def _forms(middle_c: str) -> str:
    return (
        "Write a letter A-G, # or b if needed, and an octave, as in C#4 or Eb3, or a MIDI note"
        f" number from 0 to 127. Middle C is {middle_c} here; --middle-c changes that."
    )
