"""A practice file made audible: plain tones and a click, good enough to play along with."""

from __future__ import annotations

import io
import wave
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from mockcheck.export.practice import ACCENT_KEY, CLICK_CHANNEL

if TYPE_CHECKING:
    import mido

SAMPLES_PER_S = 22_050
_PEAK = 0.5
"""Of full scale: a click in headphones is loud enough."""
_PARTIALS = (1.0, 0.5, 0.3, 0.15, 0.08)
_ATTACK_S, _DECAY_S = 0.02, 0.06
_CLICK_S, _ACCENT_HZ, _BEAT_HZ = 0.03, 2000.0, 1200.0
_TAIL_S = 0.5
_A4_HZ, _A4_KEY = 440.0, 69


def wav_bytes(midi: mido.MidiFile) -> bytes:
    """A file of notes as a WAV file: mono, 16 bit, 22,050 samples a second.

    Every note is a sum of a few partials, every click a short burst. A note begins on the sample
    nearest to its second. Nothing else of the file is heard.

    Not modelled: any instrument; programs, controllers and bends.
    """
    notes = _notes_of(midi)
    ends_s = max([midi.length, *(end for *_, end in notes)])
    sound = np.zeros(round((ends_s + _TAIL_S) * SAMPLES_PER_S))
    for channel, key, velocity, begins_s, end_s in notes:
        tone = _click(key) if channel == CLICK_CHANNEL else _tone(key, max(end_s - begins_s, 0.0))
        first = round(begins_s * SAMPLES_PER_S)
        room = sound[first : first + len(tone)]
        room += velocity / 127 * tone[: len(room)]
    loudest = float(np.abs(sound).max(initial=0.0))
    sound *= _PEAK / loudest if loudest > 0 else 0.0
    buffer = io.BytesIO()
    with wave.open(buffer, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(SAMPLES_PER_S)
        file.writeframes(np.rint(32767 * sound).astype("<i2").tobytes())
    return buffer.getvalue()


def _notes_of(midi: mido.MidiFile) -> list[tuple[int, int, int, float, float]]:
    """Channel, key, velocity, begin and end (s) of each note; what began first ends first."""
    down: dict[tuple[int, int], list[tuple[int, float]]] = {}
    notes, now_s = [], 0.0
    for message in midi:
        now_s += message.time
        if message.type not in ("note_on", "note_off"):
            continue
        held = down.setdefault((message.channel, message.note), [])
        if message.type == "note_on" and message.velocity:
            held.append((message.velocity, now_s))
        elif held:
            velocity, begins_s = held.pop(0)
            notes.append((message.channel, message.note, velocity, begins_s, now_s))
    return notes


def _tone(key: int, length_s: float) -> NDArray[np.float64]:
    time_s = np.arange(round((length_s + _DECAY_S) * SAMPLES_PER_S)) / SAMPLES_PER_S
    base_hz = _A4_HZ * 2 ** ((key - _A4_KEY) / 12)
    tone = np.zeros(len(time_s))
    for number, share in enumerate(_PARTIALS, start=1):
        # Above half the sampling rate a partial would come back as a wrong note.
        if number * base_hz < SAMPLES_PER_S / 2:
            tone += share * np.sin(2 * np.pi * number * base_hz * time_s)
    rise = np.minimum(time_s / _ATTACK_S, 1.0)
    fall = np.clip((length_s + _DECAY_S - time_s) / _DECAY_S, 0.0, 1.0)
    return 0.25 * tone * rise * fall


def _click(key: int) -> NDArray[np.float64]:
    time_s = np.arange(round(_CLICK_S * SAMPLES_PER_S)) / SAMPLES_PER_S
    pitch_hz = _ACCENT_HZ if key == ACCENT_KEY else _BEAT_HZ
    return np.sin(2 * np.pi * pitch_hz * time_s) * np.exp(-time_s / (_CLICK_S / 4))
