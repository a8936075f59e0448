"""Small files, each different from the next, some with faults: enough of them make an archive."""

from __future__ import annotations

import io
from pathlib import Path

import mido

from tests.phrases import midi_bytes

DEMO = Path(__file__).parent.parent.parent / "fixtures" / "demo" / "harbour_at_dawn.mid"
_SCALE = "C4 D4 E4 F4 G4 A4 B4 C5 D5 E5 F5 G5".split()


def phrase_file(number: int) -> bytes:
    """Violin and cello; every third has a note below the violin, every fifth a fast run."""
    rows = [_SCALE[(number // 12**place) % 12] for place in range(4)]
    violin = " ".join(f"{pitch}:1" for pitch in rows)
    if number % 3 == 0:
        violin += " | F3:2 A4:2"
    if number % 5 == 0:
        violin += " | " + "A4:1/8 C#5:1/8 B4:1/8 D5:1/8 " * 8
    return midi_bytes(
        f"Violin 1 4/4 q={80 + number % 40} | {violin} |", f"Cello 4/4 | C3:4 | {rows[0]}:4 |"
    )


def demo_file(number: int) -> bytes:
    """The demo at a tempo of its own."""
    file = mido.MidiFile(DEMO)
    for track in file.tracks:
        for row, message in enumerate(track):
            if message.type == "set_tempo":
                track[row] = message.copy(tempo=message.tempo + 137 * number)
    out = io.BytesIO()
    file.save(file=out)
    return out.getvalue()


def write_corpus(folder: Path, files: int, every_demo: int = 0) -> Path:
    """Files in ten folders below a new one; each `every_demo`-th is a demo, 0 for none."""
    for number in range(files):
        place = folder / f"composer-{number % 10}"
        place.mkdir(parents=True, exist_ok=True)
        is_demo = every_demo and number % every_demo == 0
        content = demo_file(number) if is_demo else phrase_file(number)
        (place / f"piece-{number:04}.mid").write_bytes(content)
    return folder
