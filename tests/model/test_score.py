import numpy as np

from mockcheck.model.curves import Curve
from mockcheck.model.score import ChannelCurves
from mockcheck.read import read_bytes
from tests.phrases import midi_bytes


def test_length_and_bars_end_with_the_last_note() -> None:
    score = read_bytes(midi_bytes("violin 4/4 q=120 | A4:4 | A4:1 r:3 | r:4 |"), "test.mid")
    assert score.bar_count == 2
    assert score.duration_s == 2 + 0.9 * 0.5


def test_a_channel_that_sent_nothing_is_empty() -> None:
    score = read_bytes(midi_bytes("violin 4/4 q=120 | A4:4 |"), "test.mid")
    curves = score.tracks[1].curves(9)
    assert len(curves.controller(1)) == 0
    assert len(curves.bend_cents) == 0


def test_a_new_coarse_value_resets_the_fine_part() -> None:
    # MIDI 1.0 Detailed Specification 4.2, Control Change: coarse * 128 + fine.
    coarse = Curve(np.array([0, 20]), np.array([0.0, 2.0]), np.array([64.0, 65.0]))
    fine = Curve(np.array([10]), np.array([1.0]), np.array([64.0]))
    joined = ChannelCurves({1: coarse, 33: fine}).controller_14_bit(1)
    assert joined.values.tolist() == [8192, 8256, 8320]
    assert joined.ticks.tolist() == [0, 10, 20]
