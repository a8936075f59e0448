import numpy as np

from mockcheck.infer.layers import find_groups
from tests.infer.tracks import Row, line, notes_of
from tests.infer.voice_tracks import in_order

TUNE = [72, 74, 76, 77, 79, 77, 76, 74]


def groups(*tracks: list[Row]) -> list[int]:
    """The group of each track, numbered as they come."""
    rows = [row for track in tracks for row in track]
    owner = np.repeat(np.arange(len(tracks)), [len(track) for track in tracks])
    order = in_order(rows)
    found = find_groups(notes_of(*rows), owner[order])
    own = [int(found[owner[order] == number][0]) for number in range(len(tracks))]
    return [list(dict.fromkeys(own)).index(group) for group in own]


def test_one_track_is_one_group() -> None:
    assert groups(line(TUNE, 0.5)) == [0]


def test_tracks_that_take_turns_are_the_same_players() -> None:
    assert groups(line(TUNE, 0.5), line(TUNE, 0.5, begin_s=10.0)) == [0, 0]


def test_a_track_that_doubles_another_is_a_layer_of_it() -> None:
    assert groups(line(TUNE, 0.5), line(TUNE, 0.5, share=0.4, begin_s=1.02)) == [0, 0]
    half = line([*TUNE[:4], 60, 62, 64, 60], 0.5)
    assert groups(line(TUNE, 0.5), half) == [0, 0]


def test_a_layer_of_a_few_notes_only_belongs_to_the_rest() -> None:
    accents = [line(TUNE, 0.5)[place] for place in (0, 4)]
    assert groups(accents, line(TUNE, 0.5)) == groups(line(TUNE, 0.5), accents) == [0, 0]


def test_two_lines_on_two_tracks_are_two_groups() -> None:
    lower = line([pitch - 4 for pitch in TUNE], 0.5)
    assert groups(line(TUNE, 0.5), lower) == [0, 1]
    assert groups(line(TUNE, 0.5), lower, line(TUNE, 0.5)) == [0, 1, 0]


def test_the_same_tune_a_beat_later_is_another_group() -> None:
    assert groups(line(TUNE, 0.5), line(TUNE, 0.5, begin_s=1.5)) == [0, 1]
