import numpy as np
import pytest

from mockcheck.infer.streams import find_streams
from mockcheck.model.notes import concatenate_notes
from tests.infer.tracks import Row, line, notes_of

SCALE = [60, 62, 64, 65, 67, 69, 71, 72]


def streams(*tracks: list[Row]) -> list[int]:
    """The line each track belongs to."""
    notes, track = concatenate_notes([notes_of(*rows) for rows in tracks])
    found = find_streams(notes, track)
    lines = [set(found[track == row].tolist()) for row in range(len(tracks))]
    assert all(len(line) == 1 for line in lines)
    return [line.pop() for line in lines]


def test_a_silent_part_has_no_lines() -> None:
    assert len(find_streams(notes_of(), np.empty(0, np.int64))) == 0


def test_long_and_short_notes_on_tracks_of_their_own_are_one_line() -> None:
    long = line(SCALE, 1.0, share=1.05) + line(SCALE, 1.0, share=1.05, begin_s=13.0)
    short = line(SCALE, 0.25, share=0.4, begin_s=9.2) + line(SCALE, 0.25, share=0.4, begin_s=21.2)
    assert streams(long, short) == [0, 0]


def test_a_track_for_each_pitch_is_one_line() -> None:
    rows = line(SCALE * 3, 0.3, share=1.0)
    tracks = [[row for row in rows if row[0] == pitch] for pitch in SCALE]
    assert streams(*tracks) == [0] * 8


@pytest.mark.parametrize("shift_s", [0.0, 0.25])
def test_players_who_sound_together_are_lines_of_their_own(shift_s: float) -> None:
    assert streams(line(SCALE, 0.5), line(SCALE, 0.5, begin_s=1 + shift_s)) == [0, 1]


def test_a_third_track_may_belong_to_the_second_line() -> None:
    first, second = line(SCALE * 2, 0.5), line(SCALE, 0.5, begin_s=1.1)
    answer = line(SCALE, 0.5, begin_s=5.1)
    assert streams(first, second, answer) == [0, 1, 1]


def test_layers_of_one_sound_stay_apart() -> None:
    assert streams(line(SCALE, 0.5, share=0.9), line(SCALE, 0.5, share=0.3)) == [0, 1]


def test_a_legato_join_from_track_to_track_is_no_sounding_together() -> None:
    rows = line(SCALE * 2, 0.5, share=1.3)
    assert streams(rows[0::2], rows[1::2]) == [0, 0]
