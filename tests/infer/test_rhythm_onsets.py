import numpy as np

from mockcheck.infer.rhythm_onsets import find_onsets
from tests.infer.tracks import line, notes_of

CHORD = [(60, 1.0, 2.0), (64, 1.03, 2.01), (67, 0.98, 1.99)]


def test_a_chord_played_unevenly_is_one_onset() -> None:
    onsets = find_onsets(notes_of(*CHORD, (72, 2.0, 3.0)), False, 0.5)
    assert onsets.of_note.tolist() == [0, 0, 0, 1]
    assert onsets.ticks.round().tolist() == [1003, 2000]


def test_in_a_file_on_the_grid_only_one_tick_is_one_onset() -> None:
    onsets = find_onsets(notes_of(*CHORD), True, 0.5)
    assert onsets.of_note.tolist() == [0, 1, 2]


def test_notes_that_follow_each_other_are_no_chord_however_fast() -> None:
    onsets = find_onsets(notes_of(*line([60, 62, 64, 65, 67], 0.07)), False, 0.5)
    assert onsets.of_note.tolist() == [0, 1, 2, 3, 4]
    slurred = notes_of(*line([60, 62, 64, 65, 67], 0.08, share=1.1))
    assert find_onsets(slurred, False, 0.5).of_note.tolist() == [0, 1, 2, 3, 4]


def test_one_pitch_again_is_never_a_chord() -> None:
    onsets = find_onsets(notes_of((60, 1.0, 2.0), (60, 1.05, 2.0)), False, 0.5)
    assert len(onsets.ticks) == 2


def test_a_rolled_chord_stands_where_it_begins() -> None:
    rolled = [(55, 1.0, 3.0), (62, 1.05, 3.0), (69, 1.1, 3.0), (76, 1.15, 3.0)]
    onsets = find_onsets(notes_of(*rolled), False, 0.5)
    assert onsets.ticks.tolist() == [1000]
    assert onsets.kind.tolist() == [0, 2, 2, 2]


def test_a_grace_note_belongs_to_the_note_it_leads_to() -> None:
    rows = [(60, 1.0, 1.9), (71, 1.95, 2.0), (72, 2.0, 3.0), (74, 3.0, 4.0)]
    onsets = find_onsets(notes_of(*rows), False, 1.0)
    assert onsets.kind.tolist() == [0, 1, 0, 0]
    assert onsets.of_note.tolist() == [0, 1, 1, 2]
    assert onsets.ticks.tolist() == [1000, 2000, 3000]


def test_a_run_has_no_grace_notes() -> None:
    onsets = find_onsets(notes_of(*line(list(range(60, 72)), 0.06)), False, 1.0)
    assert not onsets.kind.any()


def test_what_fits_a_demisemiquaver_is_written_in_full() -> None:
    rows = [(60, 1.0, 1.4), (71, 1.435, 1.5), (72, 1.5, 2.4)]
    assert not find_onsets(notes_of(*rows), False, 0.5).kind.any()


def test_no_notes_no_onsets() -> None:
    assert len(find_onsets(notes_of(), False, 0.5).ticks) == 0
    assert np.array_equal(find_onsets(notes_of(), True, 0.5).of_note, np.zeros(0))
