from fractions import Fraction

import numpy as np
import pytest

from mockcheck.model.written import BeatGrid, WrittenOnsets, WrittenRhythm


def rhythm() -> WrittenRhythm:
    grid = BeatGrid(
        ticks=np.array([0.0, 480.0]),
        unit_ticks=np.array([480.0, 720.0]),
        cut=np.ones(2),
        seconds=np.array([0.5, 0.75]),
        is_compound=np.array([False, True]),
        bar_index=np.array([0, 1]),
    )
    onsets = WrittenOnsets(
        beat=np.array([0, 0, 1]),
        numerator=np.array([0, 1, 2]),
        denominator=np.array([1, 2, 3]),
        deviation_ms=np.zeros(3),
        division=np.array([2, 2, 3]),
        kind=np.zeros(3, np.int8),
    )
    return WrittenRhythm(grid, onsets, np.zeros(3, np.int64), True, 3.0, 0.0, 0.5)


def test_places_are_exact_and_have_ticks() -> None:
    assert rhythm().position(2) == Fraction(2, 3)
    assert rhythm().ticks().tolist() == [0, 240, 960]


def test_some_of_the_notes_keep_their_beats() -> None:
    some = rhythm().select(np.array([False, True, True]))
    assert len(some.onsets) == len(some.voice) == 2
    assert some.ticks().tolist() == [240, 960]


def test_columns_must_be_of_one_length() -> None:
    with pytest.raises(ValueError, match="differ in length"):
        WrittenOnsets(
            np.zeros(2, np.int64), np.zeros(1, np.int64), np.ones(2, np.int64),
            np.zeros(2), np.ones(2, np.int64), np.zeros(2, np.int8),
        )  # fmt: skip
