from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mockcheck.infer.bottleneck import best_path, best_worst_ratio
from mockcheck.infer.fingering import BURST_EVENTS, SUSTAINED_EVENTS, solve
from mockcheck.playing.hand import hand_for
from tests.accuracy.passages import ROOTS, scale
from tests.infer.searching import BOARDS, gap_lists, lines, search_of


def fastest(
    pitches: Sequence[int | tuple[int, ...]], stroke: str = "slurred", name: str = "violin"
) -> float:
    """Fastest notes a second for a soloist who has to keep it up."""
    solution = solve(search_of(pitches, 1.0, stroke, BOARDS[name]), 1.0)
    return 1 / float(max(solution.burst.max(), solution.sustained.max()))


@given(lines, gap_lists)
@settings(max_examples=25)
def test_windows_and_the_whole_agree(pitches: list[int], gaps: list[float]) -> None:
    search = search_of(pitches, np.array(gaps[: len(pitches) - 1]))
    gap_s = search.line.gap_s
    moves = min(BURST_EVENTS - 1, len(gap_s))
    starts = np.arange(len(gap_s) - moves + 1)
    exact = best_worst_ratio(search, gap_s, starts, moves)
    assert abs(solve(search, 1.0).burst.max() - exact.max()) < 1e-6
    if len(gap_s) == moves:
        assert abs(best_path(search, gap_s)[1].max() - exact[0]) < 1e-6
    long_moves = min(SUSTAINED_EVENTS - 1, len(gap_s))
    whole = best_worst_ratio(search, gap_s, np.array([0]), long_moves)
    assert solve(search, 1.0).sustained[0] >= whole[0] - 1e-6


@given(st.lists(st.integers(55, 76), min_size=3, max_size=10))
@settings(max_examples=20)
def test_the_same_music_on_the_lower_tuned_instrument_is_fingered_alike(pitches: list[int]) -> None:
    low = replace(BOARDS["violin"], open_strings=(69, 62, 55, 48))
    high = solve(search_of(pitches, 0.15), 1.0)
    lower = solve(search_of([pitch - 7 for pitch in pitches], 0.15, board=low), 1.0)
    assert high.placement.tolist() == lower.placement.tolist()
    assert high.burst.tolist() == lower.burst.tolist()


def test_a_wider_hand_is_never_slower() -> None:
    hand = hand_for(BOARDS["violin"].string_length_mm)
    wide = replace(
        hand,
        widest_mm=tuple(1.15 * reach for reach in hand.widest_mm),
        comfortable_mm=tuple(1.15 * reach for reach in hand.comfortable_mm),
    )
    for pitches in (scale(55, 3), list(range(55, 92)), scale(56, 2, (0, 3, 7))):
        worst = [solve(search_of(pitches, 0.1, hand=h), 1.0).burst.max() for h in (hand, wide)]
        assert worst[1] <= worst[0] + 1e-6


# Any player would put them in this order: common practice, no source.


@pytest.mark.parametrize("name", BOARDS)
def test_scales_arpeggios_and_leaps_are_ordered_as_players_order_them(name: str) -> None:
    root, octaves = ROOTS[name], 2 if name == "double bass" else 3
    leaps = np.random.default_rng(5).integers(root, root + 12, 40).tolist()
    rates = [
        fastest(scale(root, 1), name=name),
        fastest(scale(root, octaves), name=name),
        fastest(scale(root, octaves, (0, 3, 7)), name=name),
        fastest([pitch for low in leaps for pitch in (low, low + 24)], name=name),
    ]
    assert rates[0] >= rates[1] > rates[3]
    # In fourths an arpeggio lies across the strings where a scale has to shift: basses find them
    # much alike, the others find the arpeggio slower.
    assert rates[1] >= rates[2] * (0.9 if name == "double bass" else 1)
    assert rates[2] > rates[3]
    assert fastest(scale(root, octaves), "separate", name) <= rates[1]
    chromatic = fastest(list(range(root, root + 12 * octaves)), name=name)
    assert 0.7 * rates[1] <= chromatic <= 1.3 * rates[1]


def test_double_stops_are_slower_than_single_notes_and_tenths_slower_than_thirds() -> None:
    line = scale(60, 1)
    thirds, sixths, tenths = (
        fastest([(low, low + interval) for low in line]) for interval in (4, 9, 16)
    )
    assert fastest(line) > thirds >= tenths
    assert fastest(line) > sixths >= tenths
    # Double stop to double stop in recorded caprices: 5 % quantile 105 ms in thirds.
    assert 7 <= thirds <= 9.6


def test_a_rest_of_days_makes_nothing_possible_that_is_not() -> None:
    search = search_of([57, 69, 58], np.array([1e6, 2e6]))
    solution = solve(search, 1.35)
    for event, row in enumerate(solution.placement):
        assert row < len(search.placements_of(event))


def test_a_single_note_has_all_the_time_it_wants() -> None:
    solution = solve(search_of([69], 1.0), 1.0)
    assert solution.burst.tolist() == [0]
    assert solution.placement.tolist() == [0] or len(solution.placement) == 1
