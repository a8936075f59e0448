"""Reads the string parts of a MusicXML score as sounding music.

Only what a mock-up of the score would hold: pitches, lengths, tempo and metre. Repeats are not
expanded, grace notes and cue notes are left out. Source: MusicXML 4.0 (W3C community report).
"""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
import zipfile
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path

from tests.accuracy.midi_music import Music, Note, Part

TICKS_PER_QUARTER = 10_080
"""Divides by every tuplet up to seven, five and nine times over."""

SLUR_OVERLAP = Fraction(1, 48)
SEPARATE_SHARE, STACCATO_SHARE = Fraction(9, 10), Fraction(1, 2)
"""As the published quartets of the fixtures are written: slurred notes a trifle over, the others
nine tenths, staccato half."""

TEMPO_WORDS = {
    "grave": 44,
    "largo": 46,
    "lento": 52,
    "adagio": 56,
    "larghetto": 60,
    "sostenuto": 66,
    "andante": 76,
    "andantino": 80,
    "moderato": 96,
    "allegretto": 108,
    "menuetto": 116,
    "allegro": 132,
    "vivace": 144,
    "presto": 168,
}
"""Quarter notes a minute where a score has a word but no number; our choice, from memory of the
scales engraved on metronomes."""
TEMPO_WITHOUT_WORD = 100

_STEPS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
_BEAT_UNITS = {"whole": 4.0, "half": 2.0, "quarter": 1.0, "eighth": 0.5, "16th": 0.25}
_INSTRUMENTS = {
    # The violone of a trio sonata reads from the cello's part, at written pitch.
    "Violoncello": r"cello|violone",
    "Viola": r"viola",
    "Violin": r"violin|viloin",
}


@dataclass
class _Event:
    """A note as printed; onset counted from the bar line, quarters."""

    onset: Fraction
    length: Fraction
    pitch: int
    share: Fraction | None
    tie_stop: bool
    tie_start: bool


@dataclass
class _Bar:
    events: list[_Event] = field(default_factory=list)
    length: Fraction = Fraction(0)
    metre: tuple[int, int] | None = None
    tempos: list[tuple[Fraction, float]] = field(default_factory=list)
    words: list[str] = field(default_factory=list)


def score_root(path: Path) -> ET.Element:
    """The document of a MusicXML file, compressed or not."""
    if path.suffix != ".mxl":
        return ET.fromstring(path.read_bytes())
    with zipfile.ZipFile(path) as packed:
        container = ET.fromstring(packed.read("META-INF/container.xml"))
        first = next(container.iter("{*}rootfile"), None)
        if first is None:
            first = next(item for item in container.iter() if item.tag.endswith("rootfile"))
        return ET.fromstring(packed.read(first.attrib["full-path"]))


def _instrument(name: str) -> str | None:
    for instrument, words in _INSTRUMENTS.items():
        if re.search(words, name.lower()):
            return instrument
    return None


def string_parts(root: ET.Element) -> list[tuple[str, ET.Element]]:
    """Parts for strings, named as a mock-up would name them, with their measures."""
    names = {
        row.attrib["id"]: _instrument(row.findtext("part-name") or "")
        for row in root.iter("score-part")
    }
    how_many = Counter(names.values())
    seen: Counter[str] = Counter()
    found = []
    for part in root.iter("part"):
        instrument = names[part.attrib["id"]]
        if instrument is None:
            continue
        seen[instrument] += 1
        number = f" {seen[instrument]}" if how_many[instrument] > 1 else ""
        found.append((instrument + number, part))
    return found


def _pitch(note: ET.Element) -> int | None:
    pitch = note.find("pitch")
    if pitch is None or note.find("grace") is not None or note.find("cue") is not None:
        return None
    alter = round(float(pitch.findtext("alter") or 0))
    octave = int(pitch.findtext("octave") or 0)
    return 12 * (octave + 1) + _STEPS[pitch.findtext("step") or "C"] + alter


def _closed_slurs(part: ET.Element) -> set[ET.Element]:
    """Starts of slurs that end before another of their number begins.

    Some encodings forget the end; such a slur would seem to cover all that follows.
    """
    closed: set[ET.Element] = set()
    begun: dict[str, ET.Element] = {}
    for slur in part.iter("slur"):
        number = slur.get("number", "1")
        if slur.get("type") == "start":
            begun[number] = slur
        elif slur.get("type") == "stop" and number in begun:
            closed.add(begun.pop(number))
    return closed


class _BarReader:
    """Reads the bars of one part; divisions, transposition and slurs last from bar to bar."""

    def __init__(self, part: ET.Element) -> None:
        self.divisions = 1
        self.transpose = 0
        self.slurs: dict[str, str] = {}
        self._closed = _closed_slurs(part)

    def read(self, measure: ET.Element) -> _Bar:
        bar = _Bar()
        cursor = onset = Fraction(0)
        for item in measure:
            if item.tag == "attributes":
                self._attributes(item, bar)
            elif item.tag in {"direction", "sound"}:
                self._direction(item, bar, cursor)
            elif item.tag in {"backup", "forward"}:
                move = Fraction(item.findtext("duration") or "0") / self.divisions
                cursor += move if item.tag == "forward" else -move
            elif item.tag == "note":
                length = Fraction(item.findtext("duration") or "0") / self.divisions
                if item.find("chord") is None:
                    onset = cursor
                    cursor += length
                share = self._share(item)
                pitch = _pitch(item)
                if pitch is not None and length > 0:
                    ties = {tie.get("type") for tie in item.findall("tie")}
                    sounding = pitch + self.transpose
                    bar.events.append(
                        _Event(onset, length, sounding, share, "stop" in ties, "start" in ties)
                    )
            bar.length = max(bar.length, cursor)
        return bar

    def _attributes(self, item: ET.Element, bar: _Bar) -> None:
        self.divisions = int(item.findtext("divisions") or self.divisions)
        transpose = item.find("transpose")
        if transpose is not None:
            octaves = int(transpose.findtext("octave-change") or 0)
            self.transpose = int(transpose.findtext("chromatic") or 0) + 12 * octaves
        if (time := item.find("time")) is not None and time.find("beats") is not None:
            beats = sum(int(number) for number in str(time.findtext("beats")).split("+"))
            bar.metre = (beats, int(time.findtext("beat-type") or 4))

    def _direction(self, item: ET.Element, bar: _Bar, cursor: Fraction) -> None:
        bar.words += [word.text or "" for word in item.iter("words")]
        sounds = [
            float(sound.attrib["tempo"]) for sound in item.iter("sound") if "tempo" in sound.attrib
        ]
        for mark in item.iter("metronome"):
            number = re.search(r"[0-9.]+", mark.findtext("per-minute") or "")
            if number and not sounds:
                dotted = 1.5 if mark.find("beat-unit-dot") is not None else 1.0
                unit = _BEAT_UNITS.get(mark.findtext("beat-unit") or "", 1.0) * dotted
                sounds.append(float(number[0]) * unit)
        bar.tempos += [(cursor, bpm) for bpm in sounds if bpm > 0]

    def _share(self, note: ET.Element) -> Fraction | None:
        """Sounding share of a note's length; None when it is slurred to the next."""
        voice = note.findtext("voice") or "1"
        for slur in note.iter("slur"):
            number = slur.get("number", "1")
            if slur.get("type") == "start" and slur in self._closed:
                self.slurs[number] = voice
            elif slur.get("type") == "stop":
                self.slurs.pop(number, None)
        if any(note.iter("staccato")):
            return STACCATO_SHARE
        return None if voice in self.slurs.values() else SEPARATE_SHARE


def _ticks(quarters: Fraction) -> int:
    return round(quarters * TICKS_PER_QUARTER)


def _notes(bars: list[_Bar], starts: list[Fraction]) -> tuple[Note, ...]:
    """Printed notes as key presses; tied notes are one, a tie that leads nowhere ends its note."""
    notes: list[Note] = []
    tied: dict[int, tuple[Fraction, Fraction]] = {}

    def press(onset: Fraction, sounding: Fraction, pitch: int) -> None:
        notes.append(Note(_ticks(onset), _ticks(onset) + max(_ticks(sounding), 1), pitch))

    for bar, start in zip(bars, starts, strict=True):
        for event in sorted(bar.events, key=lambda e: (e.onset, e.pitch)):
            onset, end = start + event.onset, start + event.onset + event.length
            if event.pitch in tied:
                first, until = tied.pop(event.pitch)
                if event.tie_stop and until == onset:
                    onset = first
                else:
                    press(first, until - first, event.pitch)
            if event.tie_start:
                tied[event.pitch] = (onset, end)
            elif event.share is None:
                press(onset, end - onset + SLUR_OVERLAP, event.pitch)
            else:
                # Only the last written note of a tie is shortened.
                press(onset, end - onset - event.length * (1 - event.share), event.pitch)
    for pitch, (onset, end) in tied.items():
        press(onset, end - onset, pitch)
    return tuple(sorted(notes, key=lambda note: (note.onset, note.pitch)))


def _meters(bars: list[_Bar], starts: list[Fraction]) -> Iterator[tuple[int, int, int]]:
    """A time signature wherever the length of a bar changes, short bars included."""
    metre, written = (4, 4), None
    for bar, start in zip(bars, starts, strict=True):
        metre = bar.metre or metre
        whole = Fraction(4 * metre[0], metre[1])
        here = metre
        if bar.length and bar.length != whole:
            denominator = next((d for d in (4, 8, 16, 32, 64) if bar.length * d % 4 == 0), None)
            if denominator is not None:
                here = (int(bar.length * denominator / 4), denominator)
        if here != written:
            yield _ticks(start), *here
            written = here


def default_bpm(words: list[str]) -> float:
    """Quarter notes a minute for a movement that has no number, by its first tempo word."""
    for text in words:
        for word in re.findall(r"[a-z]+", text.lower()):
            if word in TEMPO_WORDS:
                return float(TEMPO_WORDS[word])
    return float(TEMPO_WITHOUT_WORD)


def read_score(path: Path) -> tuple[Music, str]:
    """The string parts of a score, and where its tempo is from.

    The second value is one of "score", "opening ours" (a number comes only later) and "ours".
    """
    read = []
    for name, part in string_parts(score_root(path)):
        reader = _BarReader(part)
        read.append((name, [reader.read(measure) for measure in part.findall("measure")]))
    count = max(len(bars) for _, bars in read)
    merged = [_Bar() for _ in range(count)]
    for _, bars in read:
        for together, bar in zip(merged, bars, strict=False):
            together.length = max(together.length, bar.length)
            together.metre = together.metre or bar.metre
            together.tempos += bar.tempos
            together.words += bar.words
    starts = [Fraction(0)]
    for bar in merged[:-1]:
        starts.append(starts[-1] + bar.length)
    tempos = {
        _ticks(start + place): 60e6 / bpm
        for bar, start in zip(merged, starts, strict=True)
        for place, bpm in bar.tempos
    }
    tempo_from = "score" if 0 in tempos else "opening ours" if tempos else "ours"
    if 0 not in tempos:
        tempos[0] = 60e6 / default_bpm([word for bar in merged for word in bar.words])
    music = Music(
        ticks_per_quarter=TICKS_PER_QUARTER,
        tempos=tuple(sorted(tempos.items())),
        meters=tuple(_meters(merged, starts)),
        parts=tuple(Part(name, _notes(bars, starts[: len(bars)])) for name, bars in read),
    )
    return music, tempo_from
