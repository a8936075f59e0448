import numpy as np

from mockcheck.infer.texture import MOST_LINES, TEXTURE
from tests.infer.tracks import line, notes_of
from tests.infer.voice_tracks import hear


def test_no_notes_have_no_texture() -> None:
    texture = hear(notes_of()).texture
    assert len(texture.usual) == len(texture.sounding) == 0


def test_a_line_is_one_and_a_rare_double_stop_leaves_it_one() -> None:
    tune = line([72, 74, 76, 77] * 10, 1.0)
    texture = hear(notes_of(*tune, (60, 20, 20.9))).texture
    assert set(texture.usual.tolist()) == {1}
    assert texture.sounding.max() == 2


def test_two_lines_through_and_through_are_two() -> None:
    texture = hear(notes_of(*line([72] * 20, 1.0), *line([60] * 20, 1.0))).texture
    assert set(texture.usual.tolist()) == {2}
    assert np.allclose(texture.height[:, 10], [72, 60])


def test_a_passage_divided_for_itself_is_two_lines_there_and_one_elsewhere() -> None:
    tune, second = line([72] * 300, 1.0), line([60] * 15, 1.0, begin_s=100.0)
    texture = hear(notes_of(*tune, *second)).texture
    assert texture.usual[107] == 2
    assert texture.usual[20] == texture.usual[250] == 1


def test_a_single_line_beside_two_is_as_high_as_its_own() -> None:
    # The lower line rests half of the time; the upper one keeps its height.
    rows = [*line([74, 76] * 20, 1.0), *line([60, 62] * 10, 1.0)]
    texture = hear(notes_of(*rows)).texture
    assert texture.usual[30] == 2
    assert np.allclose(texture.height[:, 30], [75, 61], atol=0.2)


def test_the_last_chord_does_not_outweigh_the_page() -> None:
    tune = line([72] * 60, 0.5)
    end = [(pitch, 31.0, 60.0) for pitch in (60, 64, 67, 72)]
    assert hear(notes_of(*tune, *end)).texture.usual[30] == 1
    assert TEXTURE.longest_s <= 1


def test_a_cluster_of_many_keys_has_no_more_lines_than_are_told_apart() -> None:
    texture = hear(notes_of(*((pitch, 0, 1) for pitch in range(40, 60)))).texture
    assert texture.sounding.tolist() == [20]
    assert texture.usual.tolist() == [MOST_LINES]
