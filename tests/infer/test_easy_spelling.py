import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from mockcheck.infer.easy_spelling import awkward_steps, easiest_spelling, reading_cost
from mockcheck.infer.spelled_parts import as_imported
from mockcheck.model.spelled import letter_name

Column = NDArray[np.int64]
FIGURES = st.lists(st.integers(55, 90), min_size=2, max_size=16)


def column(values: list[int]) -> Column:
    return np.array(values, np.int64)


def imported(pitch: list[int], key: int) -> tuple[Column, Column]:
    notes = column(pitch)
    return notes, as_imported(notes, np.full(len(pitch), key))


def test_an_augmented_second_and_a_diminished_third_are_awkward() -> None:
    assert awkward_steps(column([72, 75, 76]), column([0, 9, 4])).tolist() == [True, False]
    assert awkward_steps(column([73, 75]), column([7, -3])).tolist() == [True]
    assert awkward_steps(column([68, 72]), column([8, 0])).tolist() == [True]


def test_plain_steps_chromatic_semitones_tritones_and_wide_leaps_are_not() -> None:
    pitch = column([72, 75, 77, 71, 72, 73, 82])
    fifths = column([0, -3, -1, 5, 0, 7, -2])
    assert not awkward_steps(pitch, fifths).any()


def test_c_to_d_sharp_in_a_figure_becomes_e_flat() -> None:
    pitch, fifths = imported([72, 75, 72, 75, 79, 75, 72], 1)
    assert "D#" in [letter_name(place) for place in fifths.tolist()]
    easy = easiest_spelling(pitch, fifths, 1)
    assert [letter_name(place) for place in easy.tolist()] == "C Eb C Eb G Eb C".split()


def test_one_awkward_step_between_leading_note_and_scale_stays_when_nothing_is_gained() -> None:
    pitch, fifths = imported([76, 77, 80, 81, 80, 81], 0)
    assert (easiest_spelling(pitch, fifths, 0) == fifths).all()


def test_notes_of_the_signature_are_never_respelled() -> None:
    pitch, fifths = imported([66, 70, 66, 70, 66], 3)
    easy = easiest_spelling(pitch, fifths, 3)
    assert easy[0] == 6


@given(FIGURES, st.integers(-6, 6))
def test_the_easiest_spelling_sounds_the_same_costs_no_more_and_repeats_itself(
    pitch: list[int], key: int
) -> None:
    notes, fifths = imported(pitch, key)
    easy = easiest_spelling(notes, fifths, key)
    assert ((easy - fifths) % 12 == 0).all()
    assert reading_cost(notes, easy, key) <= reading_cost(notes, fifths, key)
    for place in np.unique(fifths):
        assert len(np.unique(easy[fifths == place])) == 1
    assert (easiest_spelling(notes, easy, key) == easy).all() or (
        reading_cost(notes, easiest_spelling(notes, easy, key), key)
        < reading_cost(notes, easy, key)
    )


@given(FIGURES, st.integers(-3, 3), st.integers(-2, 2))
def test_steps_keep_their_kind_when_all_is_moved_by_fifths(
    pitch: list[int], key: int, fifths: int
) -> None:
    notes, places = imported(pitch, key)
    moved = awkward_steps(notes + 7 * fifths, places + fifths)
    assert (moved == awkward_steps(notes, places)).all()


def test_a_figure_with_more_foreign_notes_than_can_be_weighed_stays() -> None:
    pitch, fifths = imported([61, 64, 63, 66, 68, 70, 61, 65, 63], 0)
    fifths = column([7, 4, 9, 6, 8, 10, -5, 11, -3])
    assert (easiest_spelling(pitch, fifths, 0) == fifths).all()
