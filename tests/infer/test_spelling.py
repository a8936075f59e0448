import time
from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

import mockcheck.infer.spelling as spelling
from mockcheck.infer.spelling import (
    KEY_MIDDLE_FIFTHS,
    LineToSpell,
    above_centre,
    spell,
    spelling_tables,
    tonal_centres,
    turns,
)
from mockcheck.model.spelled import letter_name
from mockcheck.units import pitch_from_name
from tests.reading.compare_spelling import by_key_only, by_ps13, has_partitura, score
from tests.reading.printed_spelling import SpelledWork, music21_works, open_works

MUSIC = st.lists(st.integers(48, 84), min_size=1, max_size=60)


def line(pitch: list[int], key: int | None = None) -> LineToSpell:
    count = len(pitch)
    return LineToSpell(
        np.array(pitch, np.int64),
        np.arange(count) / 2,
        None if key is None else np.full(count, key, np.int64),
    )


def letters(notes: str, key: int | None) -> str:
    pitch = [pitch_from_name(f"{note}4") for note in notes.split()]
    (places,) = spell([line(pitch, key)])
    return " ".join(letter_name(place) for place in places.tolist())


@pytest.mark.parametrize("key", range(-6, 7))
def test_a_scale_takes_one_letter_a_step_in_every_key(key: int) -> None:
    degrees = np.array([0, 2, 4, -1, 1, 3, 5, 0])
    pitch = [48 + int(7 * (key + degree) % 12) for degree in degrees]
    (places,) = spell([line([*pitch, *pitch[::-1]], key)])
    assert (places == key + np.concatenate([degrees, degrees[::-1]])).all()


def test_leading_notes_rise_and_flat_notes_fall() -> None:
    assert letters("A B C D E F G# A G# A", 0).endswith("G# A G# A")
    assert letters("G A Bb A G F E F G A", -1).split()[2] == "Bb"
    assert letters("C E G F# G E F# G C", 0) == "C E G F# G E F# G C"


@given(MUSIC, st.integers(-6, 6), st.integers(-3, 3))
@settings(max_examples=40)
def test_moving_up_by_octaves_changes_no_spelling(pitch: list[int], key: int, octaves: int) -> None:
    moved = [one + 12 * octaves for one in pitch]
    assert (spell([line(pitch, key)])[0] == spell([line(moved, key)])[0]).all()


@given(MUSIC, st.integers(-3, 3), st.integers(-3, 3))
@settings(max_examples=40)
def test_transposing_key_and_notes_by_fifths_moves_every_place_as_far(
    pitch: list[int], key: int, fifths: int
) -> None:
    # A fifth up and octaves down: leaps stay as they are.
    moved = [one + 7 * fifths for one in pitch]
    here, there = spell([line(pitch, key)])[0], spell([line(moved, key + fifths)])[0]
    assert (there - here == fifths).all()


@given(MUSIC)
@settings(max_examples=40)
def test_every_place_sounds_as_its_pitch(pitch: list[int]) -> None:
    (places,) = spell([line(pitch)])
    assert (7 * places % 12 == np.array(pitch) % 12).all()


def brute_force(
    pitch: NDArray[np.int64], choices: NDArray[np.int64], cost: NDArray[np.float64]
) -> float:
    return min(
        path_cost(pitch, choices, cost, np.array(path))
        for path in product(range(3), repeat=len(pitch))
    )


def path_cost(
    pitch: NDArray[np.int64],
    choices: NDArray[np.int64],
    cost: NDArray[np.float64],
    path: NDArray[np.int64],
) -> float:
    tables, rows = spelling_tables(), np.arange(len(pitch))
    places = choices[rows, path]
    total = float(cost[rows, path].sum())
    weights = ((1, tables.step, spelling._STEP_WEIGHT), (2, tables.skip, spelling._SKIP_WEIGHT))
    for back, table, weight in weights:
        leap = np.clip(pitch[back:] - pitch[:-back], -14, 14) + 14
        away = np.clip(places[back:] - places[:-back], -30, 30) + 30
        total += weight * float(table[leap, away].sum())
    return total


@given(st.lists(st.integers(55, 79), min_size=2, max_size=7), st.integers(0, 2**32 - 1))
@settings(max_examples=30)
def test_the_search_in_blocks_finds_the_cheapest_of_all_paths(notes: list[int], seed: int) -> None:
    pitch = np.array(notes, np.int64)
    choices = (7 * pitch % 12)[:, None] + np.array([-12, 0, 12])
    cost = np.random.default_rng(seed).uniform(0, 3, choices.shape)
    found = spelling._best_choices(pitch, choices, cost, spelling_tables())
    assert path_cost(pitch, choices, cost, found) == pytest.approx(
        brute_force(pitch, choices, cost)
    )


def test_blocks_of_a_published_line_join_into_its_cheapest_path(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    lines = open_works()[0].lines
    in_blocks = spell(lines)
    monkeypatch.setattr(spelling, "_BLOCK", 10_000)
    at_once = spell(lines)
    assert all((one == other).all() for one, other in zip(in_blocks, at_once, strict=True))


def test_a_turn_looks_past_repeated_notes() -> None:
    wide = 7
    assert turns(np.array([60, 60, 62])).tolist() == [3 * wide + 5, 3 * wide + 5, 5 * wide + 3]
    assert turns(np.array([70, 60, 61])).tolist()[1] == 0 * wide + 4
    assert turns(np.array([60])).tolist() == [3 * wide + 3]


def test_the_tonal_centre_is_shared_by_parts_that_sound_together() -> None:
    upper, lower = line([60] * 4), line([67] * 4)
    centres = tonal_centres([upper, lower], [np.zeros(4, np.int64), np.full(4, 4)])
    assert np.allclose(centres, 2)
    assert above_centre(np.array([2]), np.array([2 + KEY_MIDDLE_FIFTHS])).tolist() == [0]


def test_empty_lines_stay_empty() -> None:
    empty = LineToSpell(np.empty(0, np.int64), np.empty(0), None)
    assert [len(places) for places in spell([empty, line([60])])] == [0, 1]
    assert spell([]) == []


def test_a_hundred_thousand_notes_take_seconds() -> None:
    rng = np.random.default_rng(1)
    pitch = 60 + np.cumsum(rng.integers(-4, 5, 100_000)) % 24
    begin = time.perf_counter()
    spell([line(pitch.tolist(), 0)])
    assert time.perf_counter() - begin < 10


def published(works: list[SpelledWork]) -> list[SpelledWork]:
    if not works:
        pytest.skip("the corpus is not installed")
    return works


@pytest.mark.slow
def test_the_music21_corpus_comes_out_as_printed() -> None:
    works = published(music21_works())
    with_keys = score(works, spell)
    without = score(works, lambda lines: spell([replace(one, key_fifths=None) for one in lines]))
    assert with_keys.right / with_keys.notes >= 0.99
    assert with_keys.foreign_right / with_keys.foreign >= 0.95
    assert without.right / without.notes >= 0.985


def test_an_open_quartet_is_spelled_better_than_by_its_signature_alone() -> None:
    works = open_works()[:2]
    ours, plain = score(works, spell), score(works, by_key_only)
    assert ours.right > plain.right
    assert ours.foreign_right > plain.foreign_right
    assert ours.added_steps < plain.added_steps / 2


@pytest.mark.slow
@pytest.mark.filterwarnings("ignore::DeprecationWarning")
def test_ps13_adds_more_awkward_steps() -> None:
    if not has_partitura():
        pytest.skip("partitura is not installed")
    works = open_works()[:2]
    ours, theirs = score(works, spell), score(works, by_ps13)
    assert ours.right > theirs.right
    assert ours.added_steps < theirs.added_steps
