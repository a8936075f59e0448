"""The readers that are compared: ours and three general ones."""

from __future__ import annotations

import io
import warnings
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import mido
import pretty_midi
import symusic

import mockcheck

OURS = "mockcheck.load"
MIDO = "mido"


@dataclass(frozen=True)
class Reader:
    """One way to read a file.

    `content` tells how many notes, controller changes and bends came out, so that nobody is timed
    for reading less.
    """

    load: Callable[[Path], Any]
    content: Callable[[Any], tuple[int, int, int]]

    def can(self, path: Path) -> bool:
        """Whether it reads a file at all; what they raise has no common base but Exception."""
        try:
            self.load(path)
        except Exception:  # noqa: BLE001 - see above
            return False
        return True


def _pretty_midi(path: Path) -> Any:
    with warnings.catch_warnings():
        # Tempo changes outside the first track; they cost no time that matters.
        warnings.simplefilter("ignore")
        return pretty_midi.PrettyMIDI(io.BytesIO(path.read_bytes()))


def _our_content(score: Any) -> tuple[int, int, int]:
    channels = [curves for track in score.tracks for curves in track.channels.values()]
    controllers = [curve for curves in channels for curve in curves.controllers.values()]
    return (
        sum(len(track.notes) for track in score.tracks),
        sum(len(curve.ticks) for curve in controllers),
        sum(len(curves.bend_cents.ticks) for curves in channels),
    )


def _mido_content(file: Any) -> tuple[int, int, int]:
    messages = [message for track in file.tracks for message in track]
    kinds = [message.type for message in messages]
    strokes = sum(message.type == "note_on" and message.velocity > 0 for message in messages)
    return strokes, kinds.count("control_change"), kinds.count("pitchwheel")


def _pretty_midi_content(file: Any) -> tuple[int, int, int]:
    lists = [(part.notes, part.control_changes, part.pitch_bends) for part in file.instruments]
    notes, controls, bends = zip(*lists, strict=True)
    return sum(map(len, notes)), sum(map(len, controls)), sum(map(len, bends))


def _symusic_content(score: Any) -> tuple[int, int, int]:
    lists = [(part.notes, part.controls, part.pitch_bends) for part in score.tracks]
    notes, controls, bends = zip(*lists, strict=True)
    return sum(map(len, notes)), sum(map(len, controls)), sum(map(len, bends))


READERS = {
    OURS: Reader(mockcheck.load, _our_content),
    MIDO: Reader(mido.MidiFile, _mido_content),
    "pretty_midi": Reader(_pretty_midi, _pretty_midi_content),
    "symusic": Reader(symusic.Score, _symusic_content),
}
