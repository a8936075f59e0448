"""MusicXML documents validated against the published schemas, and read back by other readers.

A schema comes with two packages of the tests: partitura installs that of MusicXML 3.1, and the
`musicxml` package that of 4.0. Both import two small schemas by address;
they are answered here, so nothing is fetched.
"""

from __future__ import annotations

import importlib.util
import io
import warnings
from collections import Counter
from fractions import Fraction
from functools import lru_cache
from pathlib import Path
from typing import Any

from lxml import etree  # type: ignore[import-untyped]  # ships no types

from mockcheck.model.notated import NotatedPart
from mockcheck.model.played import PlayedPart, PlayedScore

Read = Counter[tuple[int, Fraction, int]]
"""Notes as (part from 0, onset in quarters from the start, sounding pitch); ties merged, grace
notes left out."""
_XS = "http://www.w3.org/2001/XMLSchema"
_XML = "http://www.w3.org/XML/1998/namespace"
_XLINK = "http://www.w3.org/1999/xlink"
_IMPORTED = {
    "xml.xsd": (_XML, ("lang", "space")),
    "xlink.xsd": (_XLINK, ("href", "type", "role", "title", "show", "actuate")),
}
_FINEST = 10_000


def schema_path(version: str) -> Path | None:
    """The schema of MusicXML '3.1' or '4.0'; None where its package is not installed."""
    package, inside = {
        "3.1": ("partitura", "assets/musicxml.xsd"),
        "4.0": ("musicxml", "generate_classes/musicxml_4_0.xsd"),
    }[version]
    spec = importlib.util.find_spec(package)
    if spec is None or not spec.submodule_search_locations:
        return None
    path = Path(spec.submodule_search_locations[0]) / inside
    return path if path.exists() else None


class _Imported(etree.Resolver):  # type: ignore[misc]  # lxml ships no types
    def resolve(self, url: str, _: object, context: object) -> object:
        namespace, names = _IMPORTED[url.rpartition("/")[2]]
        rows = "".join(f'<xs:attribute name="{name}" type="xs:string"/>' for name in names)
        document = f'<xs:schema xmlns:xs="{_XS}" targetNamespace="{namespace}">{rows}</xs:schema>'
        return self.resolve_string(document, context)


@lru_cache
def _schema(version: str) -> Any:
    path = schema_path(version)
    assert path is not None, version
    parser = etree.XMLParser(no_network=True)
    parser.resolvers.add(_Imported())
    return etree.XMLSchema(etree.fromstring(path.read_bytes(), parser))


def faults(document: str, version: str) -> list[str]:
    """What the schema says against a document."""
    schema = _schema(version)
    return [] if schema.validate(etree.fromstring(document.encode())) else list(schema.error_log)


def by_music21(document: str) -> Read:
    """What music21 reads."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import music21

        score: Any = music21.converter.parseData(document, format="musicxml")
    found: Read = Counter()
    for number, part in enumerate(score.parts):
        for event in part.toSoundingPitch().flatten().notes:
            if event.duration.isGrace:
                continue
            place = Fraction(event.offset).limit_denominator(_FINEST)
            for note in getattr(event, "notes", [event]):
                if note.tie is None or note.tie.type == "start":
                    found[number, place, int(note.pitch.midi)] += 1
    return found


def by_partitura(document: str, octaves_down: list[int]) -> Read:
    """What partitura reads; it keeps written pitches, so each part says how far it sounds below."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import partitura

        score = partitura.load_musicxml(io.BytesIO(document.encode()))
    found: Read = Counter()
    for number, (part, octaves) in enumerate(zip(score.parts, octaves_down, strict=True)):
        divisions = int(part.quarter_durations()[0][1])
        for note in part.notes_tied:
            if not isinstance(note, partitura.score.GraceNote):
                place = Fraction(int(note.start.t), divisions)
                found[number, place, note.midi_pitch - 12 * octaves] += 1
    return found


def on_the_page(parts: list[NotatedPart]) -> Read:
    """The heads of notated parts that begin a note."""
    found: Read = Counter()
    for number, part in enumerate(parts):
        start = Fraction(0)
        for bar in part.bars:
            for voice in bar.voices:
                for event in voice.events:
                    for head in event.heads:
                        if not (head.is_tied_from or event.is_grace):
                            found[number, start + event.start, head.pitch] += 1
            start += bar.length
    return found


def as_in_the_file(score: PlayedScore) -> Read:
    """The notes of quantised parts where their ticks say, each doubled key once."""
    found: Read = Counter()
    for number, part in enumerate(score.parts):
        found += Counter({(number, *note): 1 for note in set(_in_quarters(part))})
    return found


def _in_quarters(part: PlayedPart) -> list[tuple[Fraction, int]]:
    meter: Any = part.timeline.meter
    return [
        (Fraction(tick, meter.ticks_per_quarter), pitch)
        for tick, pitch in zip(
            part.notes.onset_ticks.tolist(), part.notes.pitch.tolist(), strict=True
        )
    ]
