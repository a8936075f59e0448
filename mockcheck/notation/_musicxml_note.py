"""One note head or rest as a MusicXML `note` element, its parts in the order of the standard."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from mockcheck.model.notated import NotatedEvent, NotatedHead
from mockcheck.model.spelled import LETTERS_BY_FIFTHS
from mockcheck.notation._accidentals import alteration, staff_step

_ACCIDENTALS = {
    -3: "triple-flat",
    -2: "flat-flat",
    -1: "flat",
    0: "natural",
    1: "sharp",
    2: "double-sharp",
    3: "triple-sharp",
}
_ARTICULATIONS = {
    "staccato": "staccato",
    "accent": "accent",
    "tenuto": "tenuto",
    "scoop": "scoop",
    "fall": "falloff",
}
_THUMB = -1
_SEMITONES_PER_OCTAVE = 12
_LINE_STEPS = 7


@dataclass(frozen=True)
class Page:
    """What holds for every note of a part: parts of a quarter, octaves up, and what is printed."""

    divisions: int
    octaves: int
    with_fingering: bool

    def duration(self, quarters: Fraction) -> int:
        """A length in divisions."""
        return int(quarters * self.divisions)


def text(parent: ET.Element, name: str, content: object) -> ET.Element:
    """A child element with text in it; XML holds no control characters."""
    child = ET.SubElement(parent, name)
    child.text = "".join(letter for letter in str(content) if letter.isprintable())
    return child


def add_rest(measure: ET.Element, event: NotatedEvent, voice: int, page: Page) -> None:
    """A rest; one for a whole bar has no note value."""
    note = ET.SubElement(measure, "note")
    rest = ET.SubElement(note, "rest")
    if event.is_full_bar:
        rest.set("measure", "yes")
    text(note, "duration", page.duration(event.length))
    text(note, "voice", voice)
    if not event.is_full_bar:
        _add_value(note, event)
        _add_time_modification(note, event)
        if event.tuplet is not None and (event.tuplet.is_start or event.tuplet.is_stop):
            _add_tuplet(ET.SubElement(note, "notations"), event)


def add_head(
    measure: ET.Element,
    event: NotatedEvent,
    head: NotatedHead,
    voice: int,
    page: Page,
    ties: Sequence[str],
    *,
    is_chord: bool,
) -> None:
    """A head of a note or chord; an artificial harmonic is three of them."""
    for kind, pitch, fifths in _written(head):
        note = ET.SubElement(measure, "note")
        if event.is_grace:
            ET.SubElement(note, "grace", slash="yes")
        if is_chord:
            ET.SubElement(note, "chord")
        _add_pitch(note, pitch + page.octaves * _SEMITONES_PER_OCTAVE, fifths)
        if not event.is_grace:
            text(note, "duration", page.duration(event.length))
            for tie in ties:
                ET.SubElement(note, "tie", type=tie)
        text(note, "voice", voice)
        _add_value(note, event)
        _add_accidental(note, head, kind, fifths)
        _add_time_modification(note, event)
        if kind in _NOTEHEADS:
            name, attributes = _NOTEHEADS[kind]
            text(note, "notehead", name).attrib.update(attributes)
        if not is_chord:
            for number, beam in enumerate(event.beams, start=1):
                text(note, "beam", beam).set("number", str(number))
        _add_notations(note, event, head, kind, ties, page, is_chord=is_chord)
        is_chord = True


_NOTEHEADS = {
    "touching-pitch": ("diamond", {"filled": "no"}),
    "sounding-pitch": ("normal", {"parentheses": "yes"}),
}


def _written(head: NotatedHead) -> list[tuple[str, int, int]]:
    """Kind of pitch (none for an ordinary note), pitch and spelling of each head on the page."""
    harmonic = head.harmonic
    if harmonic is None:
        return [("", head.pitch, head.fifths)]
    if harmonic.stopped is None:
        return [("natural", head.pitch, head.fifths)]
    rows = [("base-pitch", *harmonic.stopped), ("touching-pitch", *harmonic.touched)]
    return [*rows, ("sounding-pitch", head.pitch, head.fifths)]


def _add_pitch(note: ET.Element, pitch: int, fifths: int) -> None:
    element = ET.SubElement(note, "pitch")
    text(element, "step", LETTERS_BY_FIFTHS[(fifths + 1) % _LINE_STEPS])
    if alter := alteration(fifths):
        text(element, "alter", alter)
    # Middle C stands on step 35 and begins octave 4 of the standard.
    text(element, "octave", staff_step(pitch, fifths) // _LINE_STEPS - 1)


def _add_value(note: ET.Element, event: NotatedEvent) -> None:
    text(note, "type", event.value)
    for _ in range(event.dots):
        ET.SubElement(note, "dot")


def _add_accidental(note: ET.Element, head: NotatedHead, kind: str, fifths: int) -> None:
    sign, is_cautionary = head.accidental, head.is_cautionary
    if kind in ("base-pitch", "touching-pitch"):
        sign, is_cautionary = alteration(fifths) or None, False
    if sign is None:
        return
    element = text(note, "accidental", _ACCIDENTALS[sign])
    if is_cautionary:
        element.set("cautionary", "yes")


def _add_time_modification(note: ET.Element, event: NotatedEvent) -> None:
    if event.tuplet is not None:
        element = ET.SubElement(note, "time-modification")
        text(element, "actual-notes", event.tuplet.actual)
        text(element, "normal-notes", event.tuplet.normal)


def _add_notations(
    note: ET.Element,
    event: NotatedEvent,
    head: NotatedHead,
    kind: str,
    ties: Sequence[str],
    page: Page,
    *,
    is_chord: bool,
) -> None:
    notations = ET.Element("notations")
    for tie in ties:
        ET.SubElement(notations, "tied", type=tie)
    for end, number in head.slides:
        slide = ET.SubElement(notations, "slide", type=end, number=str(number))
        slide.set("line-type", "solid")
    if not is_chord:
        _add_tuplet(notations, event)
        for end, number in event.slurs:
            ET.SubElement(notations, "slur", type=end, number=str(number))
        _add_signs(notations, event)
    _add_technical(notations, head, kind, page)
    if len(notations):
        note.append(notations)


def _add_tuplet(notations: ET.Element, event: NotatedEvent) -> None:
    if event.tuplet is None:
        return
    for name, is_there in (("start", event.tuplet.is_start), ("stop", event.tuplet.is_stop)):
        if is_there:
            ET.SubElement(notations, "tuplet", type=name)


def _add_signs(notations: ET.Element, event: NotatedEvent) -> None:
    if event.tremolo_strokes or "trill" in event.marks:
        ornaments = ET.SubElement(notations, "ornaments")
        if "trill" in event.marks:
            ET.SubElement(ornaments, "trill-mark")
        if event.tremolo_strokes:
            text(ornaments, "tremolo", event.tremolo_strokes).set("type", "single")
    names = [_ARTICULATIONS[mark] for mark in event.marks if mark in _ARTICULATIONS]
    if names:
        articulations = ET.SubElement(notations, "articulations")
        for name in names:
            ET.SubElement(articulations, name)


def _add_technical(notations: ET.Element, head: NotatedHead, kind: str, page: Page) -> None:
    technical = ET.Element("technical")
    if kind:
        harmonic = ET.SubElement(technical, "harmonic")
        ET.SubElement(harmonic, "natural" if kind == "natural" else "artificial")
        ET.SubElement(harmonic, "sounding-pitch" if kind == "natural" else kind)
    is_struck = not head.is_tied_from and kind in ("", "natural", "base-pitch")
    if page.with_fingering and is_struck and head.string_index is not None:
        if head.finger == 0 and not kind:
            ET.SubElement(technical, "open-string")
        elif head.finger is not None:
            text(technical, "fingering", "T" if head.finger == _THUMB else head.finger)
        # Strings count from I, the highest, as players and the standard do.
        text(technical, "string", head.string_index + 1)
    if len(technical):
        notations.append(technical)
