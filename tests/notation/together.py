"""Notes as keys pressed and let go at given places, for what the text of phrases cannot say."""

from __future__ import annotations

import io

import mido

import mockcheck
from mockcheck.model.played import PlayedPart
from mockcheck.read import read_bytes


def played_together(notes: list[tuple[float, float, int]], name: str = "violin") -> PlayedPart:
    """(onset, length in quarters, pitch) as one part at quarter = 60."""
    events = []
    for onset, length, pitch in notes:
        events.append((round(480 * onset), 1, mido.Message("note_on", note=pitch, velocity=80)))
        events.append((round(480 * (onset + length)), 0, mido.Message("note_off", note=pitch)))
    track = mido.MidiTrack([mido.MetaMessage("track_name", name=name)])
    track.append(mido.MetaMessage("set_tempo", tempo=1_000_000))
    before = 0
    for tick, _, message in sorted(events, key=lambda event: event[:2]):
        track.append(message.copy(time=tick - before))
        before = tick
    file = mido.MidiFile(type=1, ticks_per_beat=480)
    file.tracks = [track]
    out = io.BytesIO()
    file.save(file=out)
    return mockcheck.play(read_bytes(out.getvalue(), "together.mid")).parts[0]
