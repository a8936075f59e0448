"""Parts as a MusicXML 4.0 document.

Source: MusicXML 4.0 (W3C Music Notation Community Group, final report, 2021): element names and
their order are the standard's own.
"""

from __future__ import annotations

import xml.etree.ElementTree as ET
from collections.abc import Sequence
from fractions import Fraction
from math import lcm

from mockcheck.model.notated import NotatedBar, NotatedPart, NotatedVoice
from mockcheck.model.played import PlayedPart
from mockcheck.notation._musicxml_note import Page, add_head, add_rest, text
from mockcheck.notation.bars import Spelling, notate

_SOUNDS = {
    "violin": "strings.violin",
    "viola": "strings.viola",
    "cello": "strings.cello",
    "double bass": "strings.contrabass",
    "strings": "strings.group",
}
_PLUCKED = {"pizz.": "yes", "arco": "no"}


def musicxml(
    parts: Sequence[PlayedPart | NotatedPart],
    title: str,
    *,
    spelling: Spelling = "as it reads well",
    with_fingering: bool = False,
) -> str:
    """A score that any notation program opens.

    Parameters
    ----------
    parts
        Played parts, which are written from the first to the last bar of the longest; or notated
        parts, as they are, which must have the same bars.
    title
        Printed above.
    spelling
        Of played parts; see `notate`.
    with_fingering
        Whether strings and fingers are printed where one workable way is known.

    Returns
    -------
    A `score-partwise` document, all parts with the same number of measures. Pitches are written
    ones; a double bass is transposed. An artificial harmonic is its stopped note, a diamond at the
    touched one and the sounding one in brackets.

    Raises
    ------
    ValueError
        No parts, or notated parts with different bars.
    UnreadableInput
        As `notate`.
    """
    played = [part for part in parts if isinstance(part, PlayedPart)]
    notated = [
        notate(part, spelling=spelling, beside=played) if isinstance(part, PlayedPart) else part
        for part in parts
    ]
    if len({tuple(bar.number for bar in part.bars) for part in notated}) != 1:
        message = "a score needs parts, all with the same bars"
        raise ValueError(message)
    root = ET.Element("score-partwise", version="4.0")
    text(ET.SubElement(root, "work"), "work-title", title)
    part_list = ET.SubElement(root, "part-list")
    for number, part in enumerate(notated, start=1):
        _list_part(part_list, f"P{number}", part)
    for number, part in enumerate(notated, start=1):
        element = ET.SubElement(root, "part", id=f"P{number}")
        _PartWriter(element, part, with_tempo=number == 1, with_fingering=with_fingering).write()
    ET.indent(root)
    head = '<?xml version="1.0" encoding="UTF-8"?>\n'
    return head + ET.tostring(root, encoding="unicode") + "\n"


def _list_part(part_list: ET.Element, own_id: str, part: NotatedPart) -> None:
    row = ET.SubElement(part_list, "score-part", id=own_id)
    text(row, "part-name", part.name)
    instrument = ET.SubElement(row, "score-instrument", id=f"{own_id}-I1")
    text(instrument, "instrument-name", part.name)
    family = "double bass" if part.instrument_id.startswith("double bass") else part.instrument_id
    if family in _SOUNDS:
        text(instrument, "instrument-sound", _SOUNDS[family])


class _PartWriter:
    """Writes the measures of one part."""

    def __init__(
        self, element: ET.Element, part: NotatedPart, *, with_tempo: bool, with_fingering: bool
    ) -> None:
        self.element = element
        self.part = part
        self.with_tempo = with_tempo
        self.page = Page(_divisions(part), part.written_octaves, with_fingering)
        self.tied = _ties(part)

    def write(self) -> None:
        """All measures."""
        start = Fraction(0)
        for row, bar in enumerate(self.part.bars):
            measure = ET.SubElement(self.element, "measure", number=str(bar.number))
            if bar.is_implicit:
                measure.set("implicit", "yes")
            self._attributes(measure, bar, is_first=row == 0)
            if self.with_tempo and bar.tempo_bpm is not None:
                _tempo(measure, bar.tempo_bpm, is_dotted=bar.is_compound)
            for number, voice in enumerate(bar.voices):
                if number:
                    backup = ET.SubElement(measure, "backup")
                    text(backup, "duration", self.page.duration(bar.length))
                self._voice(measure, start, voice)
            start += bar.length

    def _attributes(self, measure: ET.Element, bar: NotatedBar, *, is_first: bool) -> None:
        if not is_first and bar.key_fifths is None and bar.metre is None and bar.clef is None:
            return
        attributes = ET.SubElement(measure, "attributes")
        if is_first:
            text(attributes, "divisions", self.page.divisions)
        if bar.key_fifths is not None:
            text(ET.SubElement(attributes, "key"), "fifths", bar.key_fifths)
        if bar.metre is not None:
            time = ET.SubElement(attributes, "time")
            text(time, "beats", bar.metre[0])
            text(time, "beat-type", bar.metre[1])
        if bar.clef is not None:
            clef = ET.SubElement(attributes, "clef")
            text(clef, "sign", bar.clef.sign)
            text(clef, "line", bar.clef.line)
        if is_first and self.part.written_octaves:
            transpose = ET.SubElement(attributes, "transpose")
            text(transpose, "diatonic", 0)
            text(transpose, "chromatic", 0)
            text(transpose, "octave-change", -self.part.written_octaves)

    def _voice(self, measure: ET.Element, bar_start: Fraction, voice: NotatedVoice) -> None:
        for event in voice.events:
            for words in event.words:
                _words(measure, words)
            if event.is_rest:
                add_rest(measure, event, voice.number, self.page)
            is_chord = False
            for head in event.heads:
                begins = voice.number, bar_start + event.start, head.pitch
                ends = voice.number, bar_start + event.start + event.length, head.pitch
                ties = [
                    name
                    for name, is_there in (
                        ("stop", head.is_tied_from and begins in self.tied),
                        ("start", head.is_tied_to and ends in self.tied),
                    )
                    if is_there
                ]
                add_head(measure, event, head, voice.number, self.page, ties, is_chord=is_chord)
                is_chord = True


def _ties(part: NotatedPart) -> set[tuple[int, Fraction, int]]:
    """Ties that begin and end in these bars: voice, place between the two heads, pitch."""
    leave, arrive = set(), set()
    start = Fraction(0)
    for bar in part.bars:
        for voice in bar.voices:
            for event in voice.events:
                begin, end = start + event.start, start + event.start + event.length
                for head in event.heads:
                    if head.is_tied_to:
                        leave.add((voice.number, end, head.pitch))
                    if head.is_tied_from:
                        arrive.add((voice.number, begin, head.pitch))
        start += bar.length
    return leave & arrive


def _divisions(part: NotatedPart) -> int:
    """Parts of a quarter that every length is a whole number of."""
    lengths = [bar.length for bar in part.bars]
    lengths += [event.length for _, _, event in part.events()]
    return lcm(*(length.denominator for length in lengths))


def _tempo(measure: ET.Element, bpm: float, *, is_dotted: bool) -> None:
    direction = ET.SubElement(measure, "direction", placement="above")
    metronome = ET.SubElement(ET.SubElement(direction, "direction-type"), "metronome")
    text(metronome, "beat-unit", "quarter")
    if is_dotted:
        ET.SubElement(metronome, "beat-unit-dot")
    text(metronome, "per-minute", round(bpm / 1.5 if is_dotted else bpm))
    ET.SubElement(direction, "sound", tempo=f"{bpm:.6g}")


def _words(measure: ET.Element, words: str) -> None:
    direction = ET.SubElement(measure, "direction", placement="above")
    text(ET.SubElement(direction, "direction-type"), "words", words)
    if words in _PLUCKED:
        ET.SubElement(direction, "sound", pizzicato=_PLUCKED[words])
