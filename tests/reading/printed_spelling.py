"""How published quartets are spelled: the notes of each part with what the edition printed.

Two sources: the open quartets (CC0; fixtures/quartets, or all 26 where MOCKCHECK_QUARTETS names
their folder), and the string works of the corpus that the music21 package installs, read where they
lie and never copied.
"""

from __future__ import annotations

import csv
import gzip
import os
import re
import xml.etree.ElementTree as ET
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import mido
import numpy as np
from numpy.typing import NDArray

from mockcheck.infer.spelling import LineToSpell
from tests.accuracy.corpus import FIXTURES, MUSIC21_WORKS, music21_folder
from tests.accuracy.printed_scores import score_root, string_parts

_FIFTHS = {"F": -1, "C": 0, "G": 1, "D": 2, "A": 3, "E": 4, "B": 5}
_SEMITONES = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}


@dataclass(frozen=True)
class SpelledWork:
    """Parts of one work; `printed` is the place of each note on the line of fifths."""

    name: str
    composer: str
    lines: tuple[LineToSpell, ...]
    printed: tuple[NDArray[np.int64], ...]

    @property
    def notes(self) -> int:
        """Notes of all parts."""
        return sum(len(line.pitch) for line in self.lines)


def fifths_of(name: str) -> int:
    """Place of a printed name such as 'Bb4' or 'F##5'; raises ValueError for anything else."""
    match = re.fullmatch(r"([A-G])(#*|b*)-?\d+", name)
    if match is None:
        message = f"'{name}' is not a printed pitch"
        raise ValueError(message)
    letter, accidentals = match.groups()
    return _FIFTHS[letter] + 7 * (accidentals.count("#") - accidentals.count("b"))


def open_works() -> list[SpelledWork]:
    """The open quartets, in the order of their files."""
    folder = Path(os.environ.get("MOCKCHECK_QUARTETS", FIXTURES))
    return [_open_work(path) for path in sorted(folder.glob("quartet_*.mid"))]


def _open_work(path: Path) -> SpelledWork:
    file = mido.MidiFile(path)
    keys = {0: 0}
    for track in file.tracks:
        tick = 0
        for message in track:
            tick += message.time
            if message.type == "key_signature":
                keys[tick] = _key_fifths(message.key)
    parts: dict[str, list[tuple[int, int, int]]] = {}
    table = path.with_suffix("").with_suffix(".csv.gz")
    with gzip.open(table, "rt", encoding="utf-8") as rows:
        for row in csv.DictReader(rows):
            note = int(row["onset_tick"]), int(row["pitch"]), fifths_of(row["spelling"])
            parts.setdefault(row["part"], []).append(note)
    lines = [_line(sorted(notes), file.ticks_per_beat, keys) for notes in parts.values()]
    return SpelledWork(
        path.stem, path.stem, tuple(line for line, _ in lines), tuple(p for _, p in lines)
    )


def _key_fifths(name: str) -> int:
    """Sharps of a MIDI key signature as mido names it; minor keys by their signature."""
    tonic = fifths_of(name.rstrip("m") + "0")
    return tonic - 3 if name.endswith("m") else tonic


def _line(
    notes: list[tuple[int, int, int]], ticks_per_quarter: int, keys: dict[int, int]
) -> tuple[LineToSpell, NDArray[np.int64]]:
    onset, pitch, printed = np.array(notes, np.int64).T
    ticks = np.array(sorted(keys))
    signature = np.array([keys[tick] for tick in ticks.tolist()])
    row = np.maximum(np.searchsorted(ticks, onset, side="right") - 1, 0)
    return LineToSpell(pitch, onset / ticks_per_quarter, signature[row]), printed


def music21_works() -> list[SpelledWork]:
    """String works of the installed music21 corpus; none without the package."""
    corpus = music21_folder()
    if corpus is None:
        return []
    return [_corpus_work(corpus / name, name) for name in MUSIC21_WORKS]


def _corpus_work(path: Path, name: str) -> SpelledWork:
    found = [_corpus_part(part) for _, part in string_parts(score_root(path))]
    keys = {tick: key for _, keys in found for tick, key in keys.items()} or {0: 0}
    lines = [_line(sorted(notes), 480, keys) for notes, _ in found if notes]
    return SpelledWork(
        name, name.split("/")[0], tuple(line for line, _ in lines), tuple(p for _, p in lines)
    )


def _corpus_part(part: ET.Element) -> tuple[list[tuple[int, int, int]], dict[int, int]]:
    notes: list[tuple[int, int, int]] = []
    keys: dict[int, int] = {}
    bar, divisions = Fraction(0), 1
    for measure in part.iter("measure"):
        place = longest = struck = Fraction(0)
        for item in measure:
            if item.tag == "attributes":
                divisions = int(item.findtext("divisions") or divisions)
                if fifths := item.findtext("key/fifths"):
                    keys[int((bar + place) * 480)] = int(fifths)
                continue
            length = Fraction(int(item.findtext("duration") or 0), divisions)
            if item.tag == "backup":
                place -= length
            elif item.tag == "forward":
                place += length
            elif item.tag == "note" and item.find("grace") is None:
                if item.find("chord") is None:
                    struck, place = place, place + length
                if (printed := _printed(item)) is not None:
                    notes.append((int((bar + struck) * 480), *printed))
            longest = max(longest, place)
        bar += longest
    return notes, keys


def _printed(note: ET.Element) -> tuple[int, int] | None:
    """Pitch and place of a note that begins here; None for rests and the rest of ties."""
    pitch = note.find("pitch")
    if pitch is None or any(tie.get("type") == "stop" for tie in note.findall("tie")):
        return None
    letter = pitch.findtext("step") or ""
    sharps = int(float(pitch.findtext("alter") or 0))
    octave = int(pitch.findtext("octave") or 0)
    return 12 * (octave + 1) + _SEMITONES[letter] + sharps, _FIFTHS[letter] + 7 * sharps
