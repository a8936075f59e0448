"""Cues for tests of rehearsal: phrases, and music with changing metre and tempo, reviewed."""

from __future__ import annotations

import tempfile
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import mockcheck
from mockcheck.model.review import Review
from tests.accuracy.midi_music import Music, Note, Part, write_music
from tests.phrases import midi_bytes

DEMO = Path(__file__).parents[2] / "fixtures" / "demo"
SCALE = "D4 E4 F#4 G4 A4 B4 C#5 D5 E5 D5 C#5 B4 A4 G4 F#4 E4".split()
RUN = " ".join(f"{name}:1/4" for name in SCALE)
"""A bar of semiquavers; at quarter = 180 no section plays it at sight."""
CALM = "A4:4"
SAME = " ".join(["E4:1/6"] * 24)
"""A bar of one note again and again."""
TICKS_PER_QUARTER = 480
QUARTER_US = 500_000
"""120 a minute."""


def demo(level: str | None = None) -> Review:
    return mockcheck.review(DEMO / "harbour_at_dawn.mid", DEMO / "brief.toml", level)


def review_of(*phrases: str, brief: Mapping[str, Any] | None = None) -> Review:
    """Phrases as a file, reviewed."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "cue.mid"
        path.write_bytes(midi_bytes(*phrases))
        return mockcheck.review(path, brief)


def review_music(music: Music, brief: Mapping[str, Any] | None = None) -> Review:
    with tempfile.TemporaryDirectory() as folder:
        return mockcheck.review(write_music(music, Path(folder) / "cue.mid"), brief)


def bars_of(bars: str, q: int = 180, name: str = "Violin 1", players: int = 8) -> str:
    """'calm run calm' as a phrase."""
    words = {"run": RUN, "same": SAME, "calm": CALM, "rest": "r:4", "moving": "A4:1 B4:1 C5:1 B4:1"}
    music = " | ".join(words[word] for word in bars.split())
    return f"{name} 4/4 q={q} players={players} | {music} |"


def music_with(
    meters: Sequence[tuple[int, int, int]],
    run_bars: Sequence[int],
    bars: int,
    tempos: Sequence[tuple[int, float]] = ((0, QUARTER_US),),
) -> Music:
    """One violin under a metre that changes: (first bar from 1, numerator, denominator).

    The bars named are full of notes at 16 a second, the others have one long note.
    """
    ticks, rows, first = [0], [], 1
    for place, (bar, numerator, denominator) in enumerate(meters):
        after = meters[place + 1][0] if place + 1 < len(meters) else bars + 1
        rows.append((ticks[-1], numerator, denominator))
        length = 4 * TICKS_PER_QUARTER * numerator // denominator
        ticks += [ticks[-1] + length * (k + 1) for k in range(after - bar)]
        first = after
    assert first == bars + 1
    notes: list[Note] = []
    for bar in range(1, bars + 1):
        start, end = ticks[bar - 1], ticks[bar]
        if bar in run_bars:
            onsets = range(start, end, TICKS_PER_QUARTER // 8)
            notes += [
                Note(tick, min(tick + 55, end), 62 + (7 * k) % 12) for k, tick in enumerate(onsets)
            ]
        else:
            notes.append(Note(start, end - 20, 69))
    return Music(TICKS_PER_QUARTER, tuple(tempos), tuple(rows), (Part("Violin 1", tuple(notes)),))
