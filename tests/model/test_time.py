import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from mockcheck.model.time import MeterMap, TempoMap, Timeline


def tempo(*changes: tuple[int, float], ticks_per_quarter: int = 480) -> TempoMap:
    ticks = np.array([tick for tick, _ in changes], np.int64)
    per_tick = np.array([60 / bpm / ticks_per_quarter for _, bpm in changes])
    time_s = np.concatenate([[0.0], np.cumsum(np.diff(ticks) * per_tick[:-1])])
    return TempoMap(ticks, time_s, per_tick, tuple(bpm for _, bpm in changes))


def meter(*changes: tuple[int, int, int]) -> MeterMap:
    ticks, numerators, denominators = (
        np.array(column, np.int64) for column in zip(*changes, strict=True)
    )
    return MeterMap(ticks, numerators, denominators, ticks_per_quarter=480)


def test_a_quarter_at_120_lasts_half_a_second() -> None:
    # Standard MIDI Files 1.0: 500000 microseconds a quarter note.
    assert tempo((0, 120)).second_at(480) == 0.5


def test_time_runs_on_through_a_tempo_change() -> None:
    changes = tempo((0, 120), (960, 60))
    assert changes.second_at(960) == 1.0
    assert changes.second_at(1440) == 2.0
    assert changes.bpm_at(959) == 120
    assert changes.bpm_at(960) == 60


@given(st.lists(st.integers(0, 10**9), min_size=1, max_size=20))
def test_ticks_and_seconds_are_each_others_inverse(ticks: list[int]) -> None:
    changes = tempo((0, 120), (960, 61.7), (5000, 203))
    there = changes.seconds_at(np.array(ticks, np.int64))
    assert changes.ticks_at(there).tolist() == ticks


def test_frames_have_no_tempo() -> None:
    frames = TempoMap(np.array([0]), np.array([0.0]), np.array([0.001]), ())
    assert frames.bpm_at(100) is None
    assert Timeline(frames, None).locate(1500).time_s == 1.5
    assert Timeline(frames, None).locate(1500).bar is None


def test_bars_and_beats_count_from_one() -> None:
    assert meter((0, 4, 4)).beat_in_bar(0) == (1, 1)
    assert meter((0, 4, 4)).beat_in_bar(4 * 480 + 240) == (2, 1.5)
    assert meter((0, 6, 8)).beat_in_bar(240) == (1, 2)


def test_a_new_metre_starts_a_bar() -> None:
    bars = meter((0, 1, 4), (480, 4, 4), (480 + 1920, 3, 4))
    assert bars.beat_in_bar(480) == (2, 1)
    assert bars.beat_in_bar(480 + 1920) == (3, 1)
    assert bars.bar_start(np.array([0, 1, 2, 3])).tolist() == [0, 480, 2400, 3840]


def test_a_metre_that_comes_early_cuts_the_bar_short() -> None:
    bars = meter((0, 4, 4), (2880, 3, 4))
    assert bars.bar_index(np.array([2879, 2880])).tolist() == [1, 2]


@given(st.integers(0, 10**12))
def test_a_tick_lies_in_the_bar_that_starts_at_or_before_it(tick: int) -> None:
    bars = meter((0, 5, 8), (1200, 7, 16), (12000, 4, 4))
    index = bars.bar_index(np.array([tick]))
    start, after = bars.bar_start(np.array([index[0], index[0] + 1]))
    assert start <= tick
    assert tick < after or index[0] < bars.first_bar_index[-1]


def test_a_location_is_plain_values_for_json() -> None:
    place = Timeline(tempo((0, 120)), meter((0, 4, 4))).locate(2400)
    assert place.to_dict() == {
        "bar": 2,
        "beat": 2.0,
        "tick": 2400,
        "time_s": 2.5,
        "timecode": None,
    }


def test_a_note_played_a_little_early_belongs_to_the_bar_it_was_meant_for() -> None:
    line = Timeline(tempo((0, 100)), meter((0, 4, 4)))
    assert (line.locate_onset(1913).bar, line.locate_onset(1913).beat) == (2, 1)
    assert line.locate_onset(487).beat == 2
    assert line.locate_onset(487).tick == 487
    assert line.locate_onset(1890).beat == 4.9375  # written on the grid: left where it is
    assert line.locate_onset(560).beat == pytest.approx(2.1667)
    assert line.locate(1913).bar == 1


def test_maps_cannot_be_changed() -> None:
    with pytest.raises(ValueError, match="read-only"):
        tempo((0, 120)).ticks[0] = 4
