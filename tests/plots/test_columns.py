from dataclasses import replace
from itertools import pairwise
from time import perf_counter

import numpy as np
import pytest

from mockcheck.model.played import Sonorities
from mockcheck.plots._columns import (
    MOST_COLUMNS,
    Axis,
    Column,
    PitchColumn,
    axis_for,
    count_columns,
    density_columns,
    pitch_columns,
    slide_positions,
    stroke_ticks,
)
from tests.report.synthetic import (
    BAR,
    TPQ,
    VIOLIN,
    Row,
    frames_timeline,
    part_of,
    timeline_of,
)


def quavers(bar: int, pitch: int = 60) -> list[Row]:
    start = (bar - 1) * BAR
    return [(pitch, start + n * TPQ // 2, start + (n + 1) * TPQ // 2) for n in range(8)]


def test_bar_twelve_lies_from_twelve_to_thirteen() -> None:
    part = part_of("Violin 1", VIOLIN, [(60, 0, 20 * BAR)])
    axis = axis_for([part])
    assert (axis.unit, axis.first, axis.after, axis.cells_per_column) == ("bar", 1, 21, 1)
    assert axis.position(part.timeline, 11 * BAR) == 12.0
    assert axis.position(part.timeline, 11 * BAR + BAR // 2) == 12.5
    assert axis.edges(11) == (12.0, 13.0)


def test_bars_of_another_metre_are_as_wide_as_any() -> None:
    timeline = timeline_of(metres=((0, 3, 4), (6 * TPQ, 4, 4)))
    axis = axis_for([part_of("Violin 1", VIOLIN, [(60, 0, 14 * TPQ)], timeline=timeline)])
    assert axis.after == 5
    assert axis.position(timeline, 3 * TPQ) == 2.0
    assert axis.position(timeline, 8 * TPQ) == 3.5


def test_eight_quavers_in_two_seconds_are_four_notes_a_second() -> None:
    part = part_of("Violin 1", VIOLIN, quavers(3))
    axis = axis_for([part])
    # 4/4 at quarter = 120 lasts two seconds.
    assert density_columns(axis, part, 0) == (Column(3.0, 4.0, 4.0),)


def test_density_follows_the_tempo() -> None:
    timeline = timeline_of(((0, 120.0), (BAR, 60.0)))
    part = part_of("Violin 1", VIOLIN, quavers(1) + quavers(2), timeline=timeline)
    values = [column.value for column in density_columns(axis_for([part]), part, 0)]
    assert values == [4.0, 2.0]


def test_a_chord_is_one_stroke() -> None:
    part = part_of("Violin 1", VIOLIN, quavers(1, 60) + quavers(1, 67))
    assert len(stroke_ticks(part, 0)) == 8


def test_a_chord_spread_over_a_few_ticks_is_one_stroke_and_a_held_note_none() -> None:
    part = part_of("Violin 1", VIOLIN, [(55, 0, BAR), (62, 3, BAR), (74, TPQ, 2 * TPQ)])
    # Two struck together, then one above both while they are held.
    sonorities = Sonorities(np.array([0, 2, 5]), np.array([0, 1, 0, 1, 2]), np.array([2, 1]))
    assert stroke_ticks(replace(part, sonorities=sonorities), 0).tolist() == [0, TPQ]


def test_strokes_are_counted_for_one_row_of_a_part() -> None:
    part = part_of("Violin 1", VIOLIN, quavers(1) + quavers(2))
    part = replace(part, track=np.array([0] * 8 + [4] * 8))
    axis = axis_for([part])
    assert [c.left for c in density_columns(axis, part, 4)] == [2.0]
    assert density_columns(axis, part, 9) == ()


def test_many_bars_share_columns_and_the_busiest_bar_shows() -> None:
    part = part_of(
        "Violin 1", VIOLIN, [*quavers(1), (60, BAR, BAR + 1), (60, 999 * BAR, 1000 * BAR)]
    )
    axis = axis_for([part])
    assert axis.cells_per_column == 3
    assert axis.column_label == "3 bars"
    columns = density_columns(axis, part, 0)
    assert columns[0] == Column(1.0, 4.0, 4.0)
    assert columns[-1].right == 1001.0


def test_a_stray_note_in_bar_one_million_costs_nothing() -> None:
    part = part_of("Violin 1", VIOLIN, [*quavers(1), (60, 10**6 * BAR, 10**6 * BAR + 1)])
    begin = perf_counter()
    axis = axis_for([part])
    density = density_columns(axis, part, 0)
    pitches = pitch_columns(axis, part, 0)
    assert perf_counter() - begin < 1
    assert len(density) == len(pitches) == 2
    assert (axis.after - axis.first) / axis.cells_per_column <= MOST_COLUMNS


def test_a_note_held_for_a_million_bars_sounds_in_every_column() -> None:
    part = part_of("Violin 1", VIOLIN, [(60, 0, 10**6 * BAR)])
    assert len(pitch_columns(axis_for([part]), part, 0)) == MOST_COLUMNS


def test_the_band_spans_what_sounds_and_skips_rests() -> None:
    rows = [(60, 0, 2 * BAR), (72, BAR, BAR + TPQ), (55, 3 * BAR, 4 * BAR)]
    part = part_of("Violin 1", VIOLIN, rows)
    assert pitch_columns(axis_for([part]), part, 0) == (
        PitchColumn(1.0, 2.0, 60, 60),
        PitchColumn(2.0, 3.0, 60, 72),
        PitchColumn(4.0, 5.0, 55, 55),
    )
    assert pitch_columns(axis_for([part]), part, 7) == ()


def test_without_bars_a_second_is_the_cell() -> None:
    rows = [(60, 0, 100), (62, 250, 300), (64, 2100, 4500)]
    part = part_of("Violin 1", VIOLIN, rows, timeline=frames_timeline())
    axis = axis_for([part])
    assert (axis.unit, axis.first, axis.after) == ("second", 0, 5)
    assert density_columns(axis, part, 0) == (Column(0.0, 1.0, 2.0), Column(2.0, 3.0, 1.0))


def test_slides_count_where_they_begin() -> None:
    part = part_of(
        "Violin 1", VIOLIN, [(60, 0, 8 * BAR)], slides=((0, 9), (9, 12), (5 * BAR, 9 * BAR))
    )
    axis = axis_for([part])
    columns = count_columns(axis, slide_positions(axis, part, 0))
    assert columns == (Column(1.0, 2.0, 2.0), Column(6.0, 7.0, 1.0))
    assert len(slide_positions(axis, part, 3)) == 0


def test_an_empty_part_has_one_empty_bar() -> None:
    part = part_of("Violin 1", VIOLIN, [])
    axis = axis_for([part])
    assert (axis.first, axis.after) == (1, 2)
    assert density_columns(axis, part, 0) == ()
    assert pitch_columns(axis, part, 0) == ()


def test_a_bar_that_takes_no_time_has_no_rate() -> None:
    timeline = timeline_of(((0, 120.0), (BAR, 120.0)))
    still = replace(timeline.tempo, time_s=np.zeros(2), seconds_per_tick=np.array([0.0, 1 / 960]))
    part = part_of(
        "Violin 1", VIOLIN, quavers(1) + quavers(2), timeline=replace(timeline, tempo=still)
    )
    assert [column.left for column in density_columns(axis_for([part]), part, 0)] == [2.0]


@pytest.mark.parametrize("bars", [1, 3, 16, 17, 48, 300, 12_345, 10**6])
def test_bar_numbers_start_at_one_and_are_round_and_few(bars: int) -> None:
    axis = Axis("bar", 1, bars + 1, -(-bars // MOST_COLUMNS))
    ticks = axis.ticks()
    assert ticks[0] == 1
    assert max(ticks) <= bars
    assert len(ticks) <= 17
    assert len(ticks) >= min(bars, 6)
    steps = {after - before for before, after in pairwise(ticks[1:])}
    assert len(steps) <= 1
