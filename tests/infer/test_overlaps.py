import numpy as np
import pytest

from mockcheck.infer.overlaps import find_note_ends
from tests.infer.tracks import line, notes_from, notes_of


def heard(*rows: tuple[float, float, float]) -> list[float]:
    return [round(end, 3) for end in find_note_ends(notes_of(*rows)).heard_release_s.tolist()]


def test_a_short_overlap_connects_two_notes() -> None:
    ends = find_note_ends(notes_of((60, 0, 1.05), (62, 1, 2)))
    assert ends.heard_release_s.tolist() == [1.0, 2.0]
    assert ends.is_joined.tolist() == [True, False]


def test_a_note_that_only_touches_the_next_is_not_joined_by_overlap() -> None:
    assert not find_note_ends(notes_of((60, 0, 1), (62, 1, 2))).is_joined.any()


def test_an_overlap_of_a_fifth_of_both_notes_connects_them() -> None:
    assert heard((60, 0, 2.35), (62, 2, 4)) == [2.0, 4.0]
    assert heard((60, 0, 2.5), (62, 2, 4)) == [2.5, 4.0]


@pytest.mark.parametrize("overlap_s", [0.05, 0.1, 0.2, 0.3])
def test_an_overlap_at_every_join_of_a_line_is_legato_writing(overlap_s: float) -> None:
    chance = np.random.default_rng(3)
    onset_s = np.cumsum(chance.choice([0.5, 0.75, 1.0], 40))
    release_s = np.append(onset_s[1:], onset_s[-1] + 1) + overlap_s
    ends = find_note_ends(notes_from(chance.permutation(np.arange(50, 90)), onset_s, release_s))
    assert np.allclose(ends.heard_release_s[:-1], np.round(onset_s[1:], 3))


def test_a_constant_overlap_under_many_rhythms_is_legato_writing_even_in_fast_notes() -> None:
    chance = np.random.default_rng(4)
    onset_s = np.cumsum(chance.choice([0.25, 0.25, 0.25, 0.5, 0.75], 60))
    release_s = np.append(onset_s[1:], onset_s[-1] + 1) + 0.2
    ends = find_note_ends(notes_from(60 + np.arange(60) % 13, onset_s, release_s))
    assert ends.is_joined[:-1].all()


def test_double_stops_in_a_legato_line_overlap_too() -> None:
    rows = [row for pitch in (60, 69) for row in line([pitch, pitch + 2] * 6, 0.5, share=1.4)]
    ends = find_note_ends(notes_of(*rows))
    assert ends.is_joined[:-2].all()


def test_a_chain_of_suspensions_is_held() -> None:
    upper, lower = line([74, 72, 71, 69] * 3, 1.0), line([65, 64, 62, 60] * 3, 1.0, begin_s=1.5)
    ends = find_note_ends(notes_of(*upper, *lower))
    assert not ends.is_joined.any()


def test_a_note_held_against_a_moving_voice_is_held() -> None:
    rows = [(55, 0, 1.9), *line([62, 64, 65, 67], 0.5, begin_s=0.0)]
    rows += [(55, 2, 3.9), *line([62, 64, 65, 67], 0.5, begin_s=2.0)]
    ends = find_note_ends(notes_of(*rows))
    assert ends.heard_release_s[ends.onset_s[ends.onset_of_note] == 0].max() == 1.9
    assert not ends.is_joined.any()


def test_a_key_struck_again_ends_its_own_note() -> None:
    assert heard((60, 0, 3), (60, 1, 2), (67, 0, 3)) == [1.0, 3.0, 2.0]
