import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from mockcheck.model.time import MeterMap, TempoMap, Timeline
from mockcheck.plan.clicks import COUNT_IN_BARS, clicks_of

QUARTER = 480


def timeline(*signatures: tuple[int, int, int]) -> Timeline:
    """Signatures as (tick, numerator, denominator) at 120 a minute."""
    columns = [np.array(column, np.int64) for column in zip(*signatures, strict=True)]
    tempo = TempoMap(np.zeros(1, np.int64), np.zeros(1), np.array([0.5 / QUARTER]), (120.0,))
    return Timeline(tempo, MeterMap(columns[0], columns[1], columns[2], QUARTER))


@pytest.mark.parametrize(
    ("numerator", "denominator", "unit", "beats", "parts"),
    [
        (4, 4, QUARTER, 4, 2),
        (3, 4, QUARTER, 3, 2),
        (2, 2, QUARTER, 4, 2),
        (6, 8, 3 * QUARTER // 2, 2, 3),
        (9, 8, 3 * QUARTER // 2, 3, 3),
        (5, 8, QUARTER // 2, 5, 2),
        (7, 8, QUARTER // 2, 7, 2),
        (3, 8, 3 * QUARTER // 2, 1, 3),
    ],
)
def test_the_count_in_is_two_bars_and_every_beat_of_the_bars_has_a_click(
    numerator: int, denominator: int, unit: int, beats: int, parts: int
) -> None:
    clicks = clicks_of(timeline((0, numerator, denominator)), 3, 4)
    bar = beats * unit
    assert clicks.count_in_ticks == COUNT_IN_BARS * bar
    assert clicks.ticks.tolist() == list(range(0, 4 * bar, unit))
    assert clicks.ticks[clicks.is_accent].tolist() == [0, bar, 2 * bar, 3 * bar]
    assert set(clicks.parts.tolist()) == {parts}
    between = clicks.subdivided(4 * bar).tolist()
    assert len(between) == 4 * beats * (parts - 1)
    assert all(tick % (unit // parts) == 0 and tick % unit for tick in between)


def test_the_metre_changes_within_the_bars_and_the_count_in_has_the_first() -> None:
    # Two bars of 3/4, then 4/4, then 5/8, then 6/8.
    signatures = [(0, 3, 4), (2880, 4, 4), (4800, 5, 8), (6000, 6, 8)]
    clicks = clicks_of(timeline(*signatures), 1, 4)
    starts = np.array([1440, 2880, 4800, 6000])
    assert clicks.count_in_ticks == 2 * 1440
    assert clicks.ticks[clicks.is_accent].tolist() == [0, 1440, *(starts - 1440 + 2880)]
    steps = np.diff(clicks.ticks)
    assert steps.tolist() == [480] * 6 + [480] * 3 + [480] * 4 + [240] * 5 + [720]


@pytest.mark.parametrize(
    "signatures", [[(0, 1, 4), (480, 4, 4)], [(0, 4, 4), (480, 4, 4)]], ids=["own", "cut short"]
)
def test_a_pick_up_stands_at_the_end_of_the_second_counted_bar(
    signatures: list[tuple[int, int, int]],
) -> None:
    clicks = clicks_of(timeline(*signatures), 0, 1)
    assert clicks.count_in_ticks == 7 * QUARTER
    assert clicks.ticks.tolist() == list(range(0, 12 * QUARTER, QUARTER))
    assert clicks.ticks[clicks.is_accent].tolist() == [0, 4 * QUARTER, 8 * QUARTER]
    assert (clicks.numerator, clicks.denominator) == (4, 4)


def test_a_bar_cut_short_later_on_is_counted_in_full() -> None:
    # Bar 2 has three of its four beats.
    clicks = clicks_of(timeline((0, 4, 4), (7 * QUARTER, 4, 4)), 1, 2)
    assert clicks.count_in_ticks == 8 * QUARTER
    accents = clicks.ticks[clicks.is_accent] // QUARTER
    assert accents.tolist() == [0, 4, 8, 11]


@given(
    st.lists(
        st.tuples(st.integers(1, 12), st.sampled_from([2, 4, 8, 16]), st.integers(1, 3)),
        min_size=1,
        max_size=4,
    ),
    st.data(),
)
def test_clicks_rise_and_accents_are_the_bar_lines_whatever_the_metre(
    pieces: list[tuple[int, int, int]], data: st.DataObject
) -> None:
    rows, tick = [], 0
    for numerator, denominator, bars in pieces:
        rows.append((tick, numerator, denominator))
        tick += bars * 4 * QUARTER * numerator // denominator
    total = sum(bars for _, _, bars in pieces)
    first = data.draw(st.integers(0, total - 1))
    last = data.draw(st.integers(first, total - 1))
    line = timeline(*rows)
    clicks = clicks_of(line, first, last)
    assert (np.diff(clicks.ticks) > 0).all()
    assert line.meter is not None
    starts = line.meter.bar_start(np.arange(first, last + 1))
    own = clicks.ticks[clicks.is_accent & (clicks.ticks >= clicks.count_in_ticks)]
    shifted = (starts - starts[0] + clicks.count_in_ticks).tolist()
    # The bar that opens a file may be its pick-up, which has no accent.
    assert own.tolist() in (shifted, shifted[1:] if first == 0 else shifted)
    assert clicks.count_in_ticks in clicks.ticks
