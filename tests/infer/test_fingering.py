import csv
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mockcheck.infer.bottleneck import best_path, best_worst_ratio
from mockcheck.infer.fingering import BURST_EVENTS, SUSTAINED_EVENTS, solve
from mockcheck.infer.search import Line, prepare
from mockcheck.playing.hand import hand_for
from mockcheck.playing.times import uncertain_times
from tests.infer.searching import BOARDS, TIMES, search_of

REFERENCE = Path(__file__).parent.parent.parent / "fixtures" / "reference"
MAJOR = (0, 2, 4, 5, 7, 9, 11)


def fastest(
    pitches: Sequence[int | tuple[int, ...]], stroke: str = "slurred", name: str = "violin"
) -> float:
    """Fastest notes a second for a soloist who has to keep it up."""
    solution = solve(search_of(pitches, 1.0, stroke, BOARDS[name]), 1.0)
    return 1 / float(max(solution.burst.max(), solution.sustained.max()))


def scale(root: int, octaves: int, steps: tuple[int, ...] = MAJOR) -> list[int]:
    up = [root + 12 * octave + step for octave in range(octaves) for step in steps]
    up.append(root + 12 * octaves)
    return up + up[-2::-1]


lines = st.lists(st.integers(55, 88), min_size=3, max_size=14)
gap_lists = st.lists(st.floats(0.03, 0.6), min_size=13, max_size=13)


@given(lines, gap_lists)
@settings(max_examples=25, deadline=None)
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
@settings(max_examples=20, deadline=None)
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
ROOTS = {"violin": 55, "viola": 48, "cello": 36, "double bass": 28}


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


def figure(technique: str, root: int, octaves: int) -> tuple[list[int], list[str]]:
    """Notes and strokes of a passage described only by its technique."""
    pitches = scale(root, octaves)
    is_slurred = any(word in technique for word in ("slur", "legato", "ricochet", "rumble"))
    if "chromatic" in technique:
        pitches = [*range(root, root + 12 * octaves), *range(root + 12 * octaves, root, -1)]
    # Orchestral repetitions stay in one position; runs go through all of them.
    turns = 3 if "triplet" in technique and "repeat" in technique else 2
    if "repeat" in technique or "pairs" in technique:
        pitches = [pitch for pitch in scale(root, 1) for _ in range(turns)]
        repeated = ["separate"] + [
            "slurred" if after == before else "repeated" for before, after in pairwise(pitches)
        ]
        return pitches, repeated
    return pitches, ["slurred" if is_slurred else "separate"] * len(pitches)


def instruments_of(row: dict[str, str]) -> list[str]:
    text = row["instrument"].lower()
    if text.startswith("all"):
        return ["violin", "viola", "cello"] if "four" in text else list(BOARDS)
    named = [name for name in ("violin", "viola", "cello") if name in text]
    return [*named, "double bass"] if "bass" in text else named


PASSAGES = list(
    csv.DictReader((REFERENCE / "published_passages.csv").read_text(encoding="utf-8").splitlines())
)


def rate_of(row: dict[str, str]) -> float:
    """The mark; where the table says that the mark contradicts the recordings, what they play."""
    is_contradicted = "contradicts" in row["notes"]
    rate = row["measured_notes_per_second"].split("-")[1] if is_contradicted else ""
    return float(rate.split()[0] if rate else row["notes_per_second"])


def least_ratios(row: dict[str, str]) -> list[float]:
    least, _ = uncertain_times(TIMES)
    ratios = []
    for name in instruments_of(row):
        octaves = 2 if name == "double bass" else 3
        pitches, strokes = figure(row["technique"].lower(), ROOTS[name], octaves)
        board = BOARDS[name]
        gap_s = 1 / rate_of(row)
        onset_s = np.arange(len(pitches), dtype=np.float64) * gap_s
        line = Line([(p,) for p in pitches], onset_s, strokes)
        search = prepare(board, hand_for(board.string_length_mm), line, least)
        ratios.append(float(solve(search, 1.0).burst.max()))
    return ratios


@pytest.mark.parametrize("row", PASSAGES, ids=lambda row: row["work"][:40])
def test_no_published_passage_is_called_impossible(row: dict[str, str]) -> None:
    # fixtures/reference/published_passages.csv, metronome source in each row; the music itself is
    # not there, so a scale of that rate and technique stands for it.
    assert max(least_ratios(row)) <= 1


def test_at_one_and_a_half_times_and_more_nearly_all_of_them_are() -> None:
    flagged = [max(least_ratios(row)) * 1.6 > 1 for row in PASSAGES]
    assert len(flagged) == 51
    assert np.mean(flagged) >= 0.9


def test_only_one_mark_is_set_aside_for_what_recordings_play() -> None:
    set_aside = [row["work"] for row in PASSAGES if rate_of(row) != float(row["notes_per_second"])]
    assert set_aside == ["Beethoven Symphony 8 Op.93 mvt 4 Allegro vivace"]


def test_a_rest_of_days_makes_nothing_possible_that_is_not() -> None:
    search = search_of([57, 69, 58], np.array([1e6, 2e6]))
    solution = solve(search, 1.35)
    for event, row in enumerate(solution.placement):
        assert row < len(search.placements_of(event))


def test_a_single_note_has_all_the_time_it_wants() -> None:
    solution = solve(search_of([69], 1.0), 1.0)
    assert solution.burst.tolist() == [0]
    assert solution.placement.tolist() == [0] or len(solution.placement) == 1
