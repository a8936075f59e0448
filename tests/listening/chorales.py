"""Four-part chorales on one track: the usual test of how well lines are told apart.

J. S. Bach's chorales as the installed music21 corpus has them, four voices exactly as printed on
one track of strings. Nothing was tuned on them. Beside our lines stand those of the contig method
(E. Chew and X. Wu, 2004) as partitura implements it.
"""

from __future__ import annotations

import sys
import tempfile
import warnings
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

import mido
import numpy as np

import mockcheck
from tests.listening.tables import table
from tests.listening.voices import Lines, notes_on_right_line, rank_by_height

TICKS_PER_QUARTER = 480
VOICES = 4
EVERY = 12
"""One chorale in so many, by catalogue order."""


@dataclass(frozen=True)
class ChoraleNote:
    """A key of the one track, and the voices that meet on it."""

    onset: int
    release: int
    pitch: int
    lines: tuple[int, ...]


def chorales(every: int = EVERY) -> Iterator[tuple[str, list[ChoraleNote]]]:
    """Name and notes of chorales with exactly four voices, in order of onset and pitch."""
    from music21 import corpus

    paths = sorted(
        (path for path in map(Path, corpus.getComposer("bach")) if path.name.startswith("bwv")),
        key=lambda path: path.name,
    )
    for path in paths[::every]:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            score: Any = corpus.parse(path)
        if len(score.parts) == VOICES:
            yield path.stem, _one_track(score)


def _one_track(score: Any) -> list[ChoraleNote]:
    """Voices that meet on a key share it; one that strikes a held key makes it sound anew."""
    keys: dict[tuple[int, int], tuple[int, set[int]]] = {}
    for line, part in enumerate(score.parts):
        for note in part.stripTies().flatten().notes:
            onset = _ticks(note.offset)
            release = _ticks(note.offset + note.quarterLength)
            for pitch in note.pitches:
                until, lines = keys.get((onset, pitch.midi), (0, set[int]()))
                keys[onset, pitch.midi] = (max(until, release), lines | {line})
    notes: list[ChoraleNote] = []
    down: dict[int, int] = {}
    for (onset, pitch), (release, lines) in sorted(keys.items()):
        before = down.get(pitch)
        if before is not None and notes[before].release > onset:
            old = notes[before]
            notes[before] = ChoraleNote(old.onset, onset, pitch, old.lines)
        down[pitch] = len(notes)
        notes.append(ChoraleNote(onset, release, pitch, tuple(sorted(lines))))
    return [note for note in notes if note.release > note.onset]


def _ticks(quarters: float | Fraction) -> int:
    return round(Fraction(quarters) * TICKS_PER_QUARTER)


def our_lines(notes: list[ChoraleNote], folder: Path) -> list[int]:
    """The line that mockcheck hears each note in; -1 for none."""
    file = mido.MidiFile(ticks_per_beat=TICKS_PER_QUARTER)
    track = mido.MidiTrack([mido.MetaMessage("track_name", name="Strings")])
    events = [(note.onset, 1, note.pitch) for note in notes]
    events += [(note.release, 0, note.pitch) for note in notes]
    tick = 0
    for at, is_on, pitch in sorted(events):
        kind = "note_on" if is_on else "note_off"
        track.append(mido.Message(kind, note=pitch, velocity=80, time=at - tick))
        tick = at
    file.tracks.append(track)
    path = folder / "chorale.mid"
    file.save(path)
    (part,) = mockcheck.play(mockcheck.load(path)).parts
    if part.lines is None:
        return [-1] * len(notes)
    keys = zip(part.notes.onset_ticks.tolist(), part.notes.pitch.tolist(), strict=True)
    line_of = dict(zip(keys, part.lines.line.tolist(), strict=True))
    return [line_of.get((note.onset, note.pitch), -1) for note in notes]


def contig_lines(notes: list[ChoraleNote]) -> list[int]:
    """The voice that partitura's contig method gives each note."""
    table_of = np.array(
        [
            (n.pitch, n.onset / TICKS_PER_QUARTER, (n.release - n.onset) / TICKS_PER_QUARTER)
            for n in notes
        ],
        dtype=[("pitch", "i4"), ("onset_beat", "f4"), ("duration_beat", "f4")],
    )
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from partitura.musicanalysis import estimate_voices

        voices: list[int] = np.asarray(estimate_voices(table_of)).tolist()
    return voices


def measure_chorales(every: int = EVERY, *, with_contigs: bool = True) -> tuple[int, list[float]]:
    """Notes, and shares on the right line: ours, ranked from the top, and by contigs if wanted."""
    count = 0
    right = np.zeros(3 if with_contigs else 2)
    with tempfile.TemporaryDirectory(prefix="chorales-") as folder:
        for name, notes in chorales(every):
            true: Lines = [note.lines for note in notes]
            heard = [
                our_lines(notes, Path(folder)),
                rank_by_height([(n.onset, n.release, n.pitch) for n in notes]),
            ]
            if with_contigs:
                heard.append(contig_lines(notes))
            count += len(notes)
            right += [notes_on_right_line(true, lines) for lines in heard]
            sys.stderr.write(f"{name}\n")
    return count, (right / max(count, 1)).tolist()


def chorales_text() -> str:
    """The table for the report."""
    count, shares = measure_chorales()
    head = ("track", "notes", "on the right line", "simply ranked from the top", "contig method")
    title = "11. Lines of four-part chorales on one track (target: 0.97 of the notes)"
    return table(title, head, [("4 voices", count, *shares)])


if __name__ == "__main__":
    sys.stdout.write(chorales_text() + "\n")
