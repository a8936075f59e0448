import io

import mido
import pytest

from mockcheck.read import read_bytes
from mockcheck.read.retime import retime


def file_without_tempo() -> bytes:
    file = mido.MidiFile(type=1, ticks_per_beat=480)
    file.tracks.append(
        mido.MidiTrack(
            [
                mido.MetaMessage("marker", text="A", time=480),
                mido.Message("note_on", note=69, velocity=80),
                mido.Message("control_change", control=11, value=50, time=240),
                mido.Message("pitchwheel", pitch=4096),
                mido.Message("note_off", note=69, time=240),
            ]
        )
    )
    out = io.BytesIO()
    file.save(file=out)
    return out.getvalue()


def test_every_second_scales_and_every_tick_stays() -> None:
    score = read_bytes(file_without_tempo(), "test.mid")
    slow = retime(score, 60)
    before, after = score.tracks[0], slow.tracks[0]
    assert (before.notes.onset_s[0], after.notes.onset_s[0]) == (0.5, 1.0)
    assert after.notes.sound_end_s[0] == 2.0
    assert after.notes.onset_ticks[0] == before.notes.onset_ticks[0] == 480
    assert after.curves(1).controller(11).time_s.tolist() == [1.5]
    assert after.curves(1).bend_cents.time_s.tolist() == [1.5]
    assert slow.markers[0].time_s == 1.0
    assert slow.tempo_map.bpm == pytest.approx((60.0,))
    assert slow.tempo_map.assumed
