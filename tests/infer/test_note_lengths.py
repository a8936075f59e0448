from dataclasses import replace

import numpy as np
import pytest

from mockcheck.infer.note_lengths import measure_lengths
from tests.infer.tracks import line, notes_of

SCALE = [60, 62, 64, 65]


def test_silence_has_no_lengths() -> None:
    lengths, onset_of_note = measure_lengths(notes_of())
    assert len(lengths) == len(onset_of_note) == 0


def test_a_length_is_a_share_of_the_time_to_the_next_onset() -> None:
    lengths, onset_of_note = measure_lengths(notes_of(*line(SCALE, 0.5, share=0.6)))
    assert onset_of_note.tolist() == [0, 1, 2, 3]
    assert np.allclose(lengths.gap_s[:3], 0.5)
    assert np.allclose(lengths.share, [0.6, 0.6, 0.6, 0])
    assert not lengths.touches.any()
    assert not lengths.overlaps.any()


@pytest.mark.parametrize(
    ("share", "overlaps", "touches"),
    [(1.06, True, True), (1.0, False, True), (0.98, False, True), (0.9, False, False)],
)
def test_a_note_overlaps_touches_or_leaves_a_gap(
    share: float, overlaps: bool, touches: bool
) -> None:
    lengths, _ = measure_lengths(notes_of(*line(SCALE, 0.5, share)))
    assert lengths.overlaps[:3].tolist() == [overlaps] * 3
    assert lengths.touches[:3].tolist() == [touches] * 3


def test_a_pitch_held_into_itself_repeats_and_does_not_overlap() -> None:
    lengths, _ = measure_lengths(notes_of(*line([60, 60, 62], 0.5, share=1.06)))
    assert lengths.repeats.tolist() == [True, False, False]
    assert lengths.overlaps.tolist() == [False, True, False]


def test_of_a_chord_the_note_that_leads_on_counts() -> None:
    rows = [(55, 1.0, 3.0), (64, 1.0, 1.4), (65, 1.5, 1.9)]
    lengths, onset_of_note = measure_lengths(notes_of(*rows))
    assert onset_of_note.tolist() == [0, 0, 1]
    assert lengths.sounds_s[0] == pytest.approx(0.4)
    assert lengths.size.tolist() == [2, 1]


def test_an_accent_is_louder_than_its_surroundings() -> None:
    notes = notes_of(*line(SCALE * 8, 0.5))
    velocity = np.full(32, 60, np.uint8)
    velocity[5] = 90
    lengths, _ = measure_lengths(replace(notes, velocity=velocity))
    assert lengths.accent.tolist() == [0.0] * 5 + [30.0] + [0.0] * 26
