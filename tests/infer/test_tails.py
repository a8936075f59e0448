from collections.abc import Sequence

import numpy as np
import pytest

from mockcheck.infer.overlaps import find_note_ends
from mockcheck.infer.tails import find_part_ends
from mockcheck.model.notes import Notes
from tests.infer.tracks import Row, line, notes_from, notes_of
from tests.infer.voice_tracks import in_order


def ends_of(rows: Sequence[Row], track: list[int]) -> list[float]:
    notes: Notes = notes_of(*rows)
    order = in_order(rows)
    ends = find_part_ends(notes, np.array(track, np.int64)[order])
    return [round(end, 3) for end in ends.heard_release_s.tolist()]


def test_no_notes_have_no_ends() -> None:
    assert ends_of([], []) == []


def test_one_track_ends_as_its_overlaps_say() -> None:
    notes = notes_of(*line([60, 62, 64, 65], 0.5, share=1.1), (55, 1, 2.9))
    own = find_part_ends(notes, np.zeros(5, np.int64))
    assert np.array_equal(own.heard_release_s, find_note_ends(notes).heard_release_s)


def test_the_tail_of_one_track_ends_where_the_next_takes_over() -> None:
    # Long notes on one track, short ones on another, in turn; the long sound rings 0.3 s on.
    long = [(72, 0.0, 2.3), (74, 4.0, 6.3), (76, 8.0, 10.3)]
    short = [(72 + n, 2.0 + 4 * turn + 0.5 * n, 2.25 + 4 * turn + 0.5 * n)
             for turn in range(2) for n in range(4)]  # fmt: skip
    ends = ends_of([*long, *short], [0] * 3 + [1] * 8)
    assert ends[0] == 2.0
    assert 6.0 in ends
    assert max(ends) == 10.3


def test_tracks_that_sound_together_keep_what_they_hold() -> None:
    upper = line([74, 72, 71, 69] * 3, 1.0, share=0.99)
    lower = line([65, 64, 62, 60] * 3, 1.0, share=0.99, begin_s=1.7)
    notes = notes_of(*upper, *lower)
    track = (notes.pitch < 66).astype(np.int64)
    ends = find_part_ends(notes, track)
    assert np.array_equal(ends.heard_release_s, notes.release_s)


@pytest.mark.parametrize(("later_s", "is_cut"), [(0.0, False), (0.03, True)])
def test_an_overlap_counts_from_the_note_of_its_own_line(later_s: float, is_cut: bool) -> None:
    # Two lines, one of them 30 ms behind: the key overlaps its own next note by 70 ms only.
    rows = [(60, 0, 1.1), (76, 1.0, 1.4), (62, 1.0 + later_s, 1.4)]
    ends = ends_of(rows, [0, 0, 0])
    assert ends[0] == (1.0 if is_cut else 1.1)


def test_ends_never_come_after_the_release_nor_before_the_onset() -> None:
    chance = np.random.default_rng(2)
    onset_s = np.cumsum(chance.uniform(0, 0.4, 300))
    notes = notes_from(
        chance.integers(50, 80, 300), onset_s, onset_s + chance.uniform(0.01, 2, 300)
    )
    ends = find_part_ends(notes, chance.integers(0, 3, 300))
    assert (ends.heard_release_s <= notes.release_s).all()
    assert (ends.heard_release_s >= notes.onset_s).all()
