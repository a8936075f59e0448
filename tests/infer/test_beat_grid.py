import numpy as np
import pytest

from mockcheck.infer.beat_grid import find_beats
from mockcheck.model.time import MeterMap, TempoMap, Timeline
from mockcheck.model.written import BeatGrid

Q = 480


def timeline(*meters: tuple[int, int, int], bpm: float = 120) -> Timeline:
    """Signatures as (tick, numerator, denominator), one tempo."""
    ticks, numerators, denominators = (np.array(column) for column in zip(*meters, strict=True))
    tempo = TempoMap(np.zeros(1, np.int64), np.zeros(1), np.array([60 / bpm / Q]), (bpm,))
    return Timeline(tempo, MeterMap(ticks, numerators, denominators, Q))


def beats(*meters: tuple[int, int, int], end: int) -> BeatGrid:
    grid = find_beats(timeline(*meters), end)
    assert grid is not None
    return grid


@pytest.mark.parametrize(
    ("metre", "unit", "is_compound"),
    [
        ((4, 4), Q, False),
        ((2, 2), Q, False),
        ((3, 4), Q, False),
        ((6, 8), 720, True),
        ((3, 8), 720, True),
        ((12, 16), 360, True),
        ((4, 8), Q, False),
        ((5, 8), 240, False),
    ],
)
def test_the_beat_that_is_felt(metre: tuple[int, int], unit: int, is_compound: bool) -> None:
    grid = beats((0, *metre), end=8000)
    assert set(grid.unit_ticks.tolist()) == {unit}
    assert set(grid.is_compound.tolist()) == {is_compound}
    assert grid.seconds[0] == pytest.approx(unit / Q / 2)


def test_a_pick_up_is_a_bar_of_its_own() -> None:
    grid = beats((0, 1, 4), (Q, 4, 4), end=5 * Q - 1)
    assert grid.bar_index[:6].tolist() == [0, 1, 1, 1, 1, 2]
    assert grid.ticks[:3].tolist() == [0, Q, 2 * Q]


def test_a_bar_cut_short_ends_with_part_of_a_beat() -> None:
    grid = beats((0, 4, 4), (3 * Q + 240, 4, 4), end=6 * Q)
    assert grid.cut[:5].tolist() == [1, 1, 1, 0.5, 1]
    assert grid.ticks[4] == 3 * Q + 240


def test_a_bar_a_few_ticks_short_has_no_beat_of_a_few_ticks() -> None:
    grid = beats((0, 2, 4), (2 * Q + 3, 2, 4), end=4 * Q)
    assert grid.ticks[:3].tolist() == [0, Q, 2 * Q + 3]


def test_every_tick_up_to_the_end_lies_in_a_beat() -> None:
    for end in (0, 1, Q - 1, Q, Q + 1):
        grid = beats((0, 4, 4), end=end)
        assert grid.ticks[0] == 0
        assert grid.ticks[-1] + grid.unit_ticks[-1] > end


def test_no_beats_in_a_file_of_frames_or_of_nonsense_length() -> None:
    assert find_beats(Timeline(timeline((0, 4, 4)).tempo, None), 1000) is None
    assert find_beats(timeline((0, 4, 4)), 10**9) is None


def test_a_signature_days_after_the_last_note_adds_no_beats() -> None:
    # Found by fuzzing: one damaged delta time put signatures 500,000 beats behind the music.
    plain = beats((0, 3, 4), end=8 * Q)
    late = beats((0, 3, 4), (500_000 * Q, 4, 4), end=8 * Q)
    assert late.ticks.tolist() == plain.ticks.tolist()
    assert late.cut.tolist() == plain.cut.tolist()
    # Where notes are there, they are too far away for any music.
    assert find_beats(timeline((0, 3, 4), (500_000 * Q, 4, 4)), 500_001 * Q) is None
