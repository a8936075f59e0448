from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mockcheck.infer.grid import GridTiming, grid_timing, spread_between_parts_s
from mockcheck.model.played import PlayedPart
from mockcheck.model.time import Timeline
from tests.checks.hands import by_hand
from tests.phrases import phrase

MELODY = "| C5:1 D5:1/2 E5:1/2 F5:1/3 E5:1/3 D5:1/3 C5:1/4 D5:1/4 E5:1/2 |"


def timing(part: PlayedPart) -> GridTiming:
    heard = grid_timing(part)
    assert heard is not None
    return heard


def share(part: PlayedPart) -> float:
    heard = timing(part)
    return heard.on_grid / heard.onsets


def test_straight_notes_and_triplets_lie_on_the_grid() -> None:
    assert timing(phrase(f"violin 4/4 q=60 {MELODY}")) == GridTiming(9, 9)


def test_a_chord_is_one_onset() -> None:
    assert timing(phrase("violin 4/4 q=60 | G3+D4:1 A4:1 G3+D4+B4:2 |")) == GridTiming(3, 3)


def test_odd_groups_lie_off_it_but_one_distance_from_it_may_be_meant() -> None:
    odd = "r:1/7 C5:6/7 r:1/11 D5:10/11 r:2/11 E5:9/11 r:3/13 F5:10/13"
    assert timing(phrase(f"violin 4/4 q=60 | {odd} | C5:1 D5:1 E5:1 F5:1 |")) == GridTiming(8, 5)


def test_a_track_moved_as_a_whole_is_as_exact_as_before() -> None:
    moved = f"violin 4/4 q=60 | r:11/240 {MELODY[1:]}"
    assert timing(phrase(moved)) == GridTiming(9, 9)


def test_quick_strokes_count_once() -> None:
    trill = " ".join(["C5:1/11 D5:1/11"] * 11)
    assert timing(phrase(f"violin 4/4 q=100 | {trill} r:1 A4:1 | B4:1 |")).onsets == 3


def test_a_clock_too_coarse_and_a_file_without_beats_tell_nothing() -> None:
    part = phrase(f"violin 4/4 q=60 {MELODY}")
    meter, tempo = part.timeline.meter, part.timeline.tempo
    assert meter is not None
    coarse = replace(meter, ticks_per_quarter=24)
    assert grid_timing(replace(part, timeline=Timeline(tempo, coarse))) is None
    fine = replace(meter, ticks_per_quarter=96)
    assert grid_timing(replace(part, timeline=Timeline(tempo, fine))) is not None
    assert grid_timing(replace(part, timeline=Timeline(tempo, None))) is None


def test_a_grid_between_two_ticks_is_met_by_either() -> None:
    # A quarter of 100 ticks has no whole tick for a triplet quaver.
    part = phrase("violin 4/4 q=60 | C5:1 D5:1 E5:1 F5:1 | C5:1 D5:1 E5:1 F5:1 |")
    meter = part.timeline.meter
    assert meter is not None
    onsets = np.array([0, 33, 67, 100, 134, 166, 200, 266])
    notes = replace(part.notes, onset_ticks=onsets, onset_s=onsets / 100)
    timeline = Timeline(part.timeline.tempo, replace(meter, ticks_per_quarter=100))
    assert timing(replace(part, notes=notes, timeline=timeline)) == GridTiming(8, 8)


def test_a_part_without_notes_has_no_onsets() -> None:
    part = phrase("violin 4/4 q=60 | C5:4 |")
    nothing = replace(part, notes=part.notes.select(np.zeros(1, np.bool_)))
    assert grid_timing(nothing) == GridTiming(0, 0)
    assert spread_between_parts_s([nothing, part]) is None


@given(st.integers(0, 10_000), st.sampled_from([10, 20, 40]))
@settings(max_examples=25)
def test_a_hand_never_plays_on_the_grid(seed: int, late_ms: int) -> None:
    # 10 ms is the steadiest player that the reference names, and 2 ms count as exact.
    bars = "C5:1 D5:1 E5:1 F5:1 | G5:1 F5:1 E5:1 D5:1 | " * 8
    score = by_hand(f"violin 4/4 q=60 | {bars}", late_ms=late_ms, seed=seed)
    assert share(score.parts[0]) < 0.75


def test_the_spread_of_two_parts_is_that_of_the_hands_that_play_them() -> None:
    bars = "C5:1 D5:1 E5:1 F5:1 | " * 60
    duo = (f"violin 4/4 q=60 | {bars}", f"viola 4/4 q=60 | {bars}")
    assert spread_between_parts_s(by_hand(*duo).parts) == 0
    one = spread_between_parts_s(by_hand(*duo, late_ms=15, tracks=(0,)).parts)
    both = spread_between_parts_s(by_hand(*duo, late_ms=15).parts)
    assert one == pytest.approx(0.015, rel=0.15)
    assert both == pytest.approx(0.015 * 2**0.5, rel=0.15)


def test_notes_of_other_parts_that_are_not_meant_together_do_not_count() -> None:
    bars = ("C5:1 D5:1 E5:1 F5:1 | " * 8, "r:1/2 C4:1 D4:1 E4:1 F4:1/2 | " * 8)
    score = by_hand(f"violin 4/4 q=60 | {bars[0]}", f"viola 4/4 q=60 | {bars[1]}")
    assert spread_between_parts_s(score.parts) is None
