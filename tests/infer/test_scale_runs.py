import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from mockcheck.infer.scale_runs import nearest_scale, scale_runs
from tests.phrases import phrase

MAJOR, HARMONIC, MELODIC = (0, 2, 4, 5, 7, 9, 11), (0, 2, 3, 5, 7, 8, 11), (0, 2, 3, 5, 7, 9, 11)
SCALES = st.sampled_from([MAJOR, HARMONIC, MELODIC])


def climb(scale: tuple[int, ...], tonic: int, notes: int, first: int = 0) -> list[int]:
    return [
        tonic + 12 * (degree // 7) + scale[degree % 7] for degree in range(first, first + notes)
    ]


@given(SCALES, st.integers(55, 70), st.integers(8, 20), st.integers(0, 6), st.integers(-6, 6))
def test_every_scale_that_is_practised_is_plain(
    scale: tuple[int, ...], tonic: int, notes: int, first: int, key: int
) -> None:
    for pitch in (climb(scale, tonic, notes, first), climb(scale, tonic, notes, first)[::-1]):
        fit = nearest_scale(np.array(pitch), key)
        assert fit.foreign == ()
        assert fit.plain.tolist() == pitch


def test_a_chromatic_run_and_a_returning_neighbour_are_plain() -> None:
    assert nearest_scale(np.arange(60, 75), 0).foreign == ()
    turn = np.array([67, 66, 67, 69, 71, 72, 74, 76])
    assert nearest_scale(turn, 0).foreign == ()


def test_whole_tones_are_plain() -> None:
    fit = nearest_scale(np.arange(60, 80, 2), 0)
    assert (fit.name, fit.foreign) == ("whole tones", ())


def test_two_foreign_notes_in_a_c_minor_run_are_named_and_put_back() -> None:
    plain = climb(HARMONIC, 60, 12)
    odd = list(plain)
    odd[1], odd[9] = 61, 76
    fit = nearest_scale(np.array(odd), -3)
    assert (fit.name, fit.foreign) == ("C minor", (1, 9))
    assert fit.plain.tolist() == plain
    assert fit.signature_fifths == -3


@given(st.integers(-5, 6), st.integers(1, 10))
def test_the_same_holds_in_every_key(key: int, place: int) -> None:
    plain = climb(MAJOR, 60 + (7 * key) % 12, 15)
    odd = list(plain)
    odd[place] += 1 if plain[place + 1] - plain[place] == 2 else -1
    fit = nearest_scale(np.array(odd), key)
    assert len(fit.foreign) <= 1
    assert abs(fit.signature_fifths - key) <= 6
    assert set(np.diff(fit.plain).tolist()) <= {1, 2, 3}


@pytest.mark.parametrize(("bpm", "runs"), [(120, 1), (119, 0)])
def test_a_run_is_fast_by_step_and_long_enough(bpm: int, runs: int) -> None:
    notes = "G4:1/4 A4:1/4 B4:1/4 C5:1/4 D5:1/4 E5:1/4 F#5:1/4 G5:1/4 r:2"
    assert len(list(scale_runs(phrase(f"violin 4/4 q={bpm} | {notes} |"), 8, 8))) == runs
    assert list(scale_runs(phrase(f"violin 4/4 q={bpm} | {notes} |"), 8, 9)) == []


def test_a_figure_that_turns_at_once_is_no_run() -> None:
    notes = "C5:1/4 D5:1/4 E5:1/4 D5:1/4 " * 4
    assert list(scale_runs(phrase(f"violin 4/4 q=140 | {notes} |"), 8, 8)) == []
