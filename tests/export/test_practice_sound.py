import io
import wave

import mido
import numpy as np
import pytest
from numpy.typing import NDArray

from mockcheck.export.practice import ACCENT_KEY, BEAT_KEY, CLICK_CHANNEL, practice_files
from mockcheck.export.practice_sound import SAMPLES_PER_S, wav_bytes
from mockcheck.plan.rehearsal import plan_rehearsal
from tests.plan.cues import bars_of, review_of


def heard(midi: mido.MidiFile) -> NDArray[np.float64]:
    with wave.open(io.BytesIO(wav_bytes(midi))) as file:
        assert (file.getnchannels(), file.getsampwidth()) == (1, 2)
        assert file.getframerate() == SAMPLES_PER_S
        frames = file.readframes(file.getnframes())
    return np.frombuffer(frames, "<i2").astype(np.float64) / 32768


def midi_of(*notes: tuple[int, int, float, float], velocity: int = 100) -> mido.MidiFile:
    """Channel, key, begin and end (s) of each note."""
    rows = []
    for channel, key, begin, end in notes:
        shared = {"channel": channel, "note": key}
        rows.append((round(1000 * begin), mido.Message("note_on", velocity=velocity, **shared)))
        rows.append((round(1000 * end), mido.Message("note_off", **shared)))
    track, before = mido.MidiTrack(), 0
    for tick, message in sorted(rows, key=lambda row: row[0]):
        track.append(message.copy(time=tick - before))
        before = tick
    midi = mido.MidiFile(type=1, ticks_per_beat=500)
    midi.tracks.append(track)
    return midi


@pytest.mark.parametrize("key", [36, 57, 69, 88])
def test_a_note_has_the_pitch_of_its_key(key: int) -> None:
    sound = heard(midi_of((0, key, 0.0, 2.0)))[: 2 * SAMPLES_PER_S]
    spectrum = np.abs(np.fft.rfft(sound))
    strongest_hz = float(spectrum.argmax()) * SAMPLES_PER_S / len(sound)
    assert strongest_hz == pytest.approx(440 * 2 ** ((key - 69) / 12), abs=1)


def test_a_note_sounds_while_it_is_held_and_no_longer() -> None:
    sound = np.abs(heard(midi_of((0, 60, 1.0, 2.0), (0, 64, 4.0, 5.0))))

    def loudest(begin: float, end: float) -> float:
        return float(sound[round(begin * SAMPLES_PER_S) : round(end * SAMPLES_PER_S)].max())

    assert loudest(0, 0.99) == 0
    assert loudest(1.2, 1.9) > 0.1
    assert loudest(2.2, 3.9) == 0
    assert loudest(4.2, 4.9) > 0.1


def test_clicks_begin_on_their_sample_and_the_accent_is_higher() -> None:
    sound = heard(
        midi_of((CLICK_CHANNEL, ACCENT_KEY, 0.5, 0.6), (CLICK_CHANNEL, BEAT_KEY, 1.5, 1.6))
    )
    loud = np.flatnonzero(np.abs(sound) > 0.01)
    second = loud[np.searchsorted(loud, SAMPLES_PER_S)]
    assert loud[0] / SAMPLES_PER_S == pytest.approx(0.5, abs=1e-3)
    assert second / SAMPLES_PER_S == pytest.approx(1.5, abs=1e-3)
    pieces = [sound[first : first + 600] for first in (loud[0], second)]
    turns = [int((np.diff(np.sign(piece)) != 0).sum()) for piece in pieces]
    assert turns[0] > turns[1]


def test_it_never_clips_and_leaves_room() -> None:
    chord = [(0, key, 0.0, 1.0) for key in range(40, 90)]
    assert np.abs(heard(midi_of(*chord, velocity=127))).max() == pytest.approx(0.5, abs=0.01)


def test_a_file_without_notes_is_silent() -> None:
    assert not heard(midi_of()).any()


def test_a_practice_file_is_heard_from_its_first_click_to_its_end() -> None:
    plan = plan_rehearsal(review_of(bars_of("rest run calm")))
    file = next(practice_files(plan))
    sound = heard(file.midi)
    rung = plan.exercises[0].ladder.rungs[0]
    assert len(sound) / SAMPLES_PER_S == pytest.approx(rung.seconds, abs=1.0)
    assert np.abs(sound[: SAMPLES_PER_S // 20]).max() > 0.05
