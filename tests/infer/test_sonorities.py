import time
from dataclasses import replace

import numpy as np
import pytest

from mockcheck.infer.overlaps import find_note_ends
from mockcheck.infer.sonorities import MOST_MEMBERS, find_sonorities
from mockcheck.model.played import Sonorities
from tests.infer.printed import PrintedPart, printed_parts
from tests.infer.tracks import line, notes_from, notes_of


def pitches(*rows: tuple[float, float, float]) -> list[tuple[list[int], int]]:
    notes = notes_of(*rows)
    found = find_sonorities(notes)
    return [
        (notes.pitch[found.notes_at(row)].tolist(), int(found.struck[row]))
        for row in range(len(found))
    ]


def test_no_notes_make_no_sonority() -> None:
    assert len(find_sonorities(notes_of())) == 0


def test_a_line_has_one_note_at_a_time() -> None:
    assert pitches(*line([60, 62, 64], 0.5)) == [([60], 1), ([62], 1), ([64], 1)]


def test_a_double_stop_is_listed_from_the_lowest_pitch() -> None:
    assert pitches((69, 0, 1), (62, 0.02, 1)) == [([62, 69], 2)]


def test_a_held_note_counts_under_a_moving_voice() -> None:
    assert pitches((55, 0, 1.8), (62, 0, 0.9), (64, 1, 1.8)) == [([55, 62], 2), ([55, 64], 1)]


def test_a_pitch_on_two_tracks_is_one_member() -> None:
    assert pitches((62, 0, 1), (62, 0, 0.2)) == [([62], 1)]


def test_a_key_struck_again_is_the_new_note() -> None:
    assert pitches((62, 0, 2), (62, 1, 2)) == [([62], 1), ([62], 1)]


def test_ends_that_are_known_already_are_taken() -> None:
    notes = notes_of((55, 0, 2), (62, 1, 2))
    ends = find_note_ends(notes)
    cut = replace(ends, heard_release_s=np.minimum(ends.heard_release_s, [1.0, 2.0]))
    assert np.diff(find_sonorities(notes).first).tolist() == [1, 2]
    assert np.diff(find_sonorities(notes, cut).first).tolist() == [1, 1]


def test_long_legato_overlaps_make_no_double_stops() -> None:
    rows = line([60, 62, 64, 65, 67, 69], 0.8, share=1.3)
    assert [len(row) for row, _ in pitches(*rows)] == [1] * 6


def printed_sizes(part: PrintedPart) -> dict[int, int]:
    """Pitches that sound by the printed lengths, at each printed onset."""
    onset, pitch = part.track.notes.onset_ticks, part.track.notes.pitch
    ends = onset + part.written_ticks
    sizes = {}
    sounding: list[int] = []
    row = 0
    for tick in np.unique(onset).tolist():
        while row < len(onset) and onset[row] <= tick:
            sounding.append(row)
            row += 1
        sounding = [note for note in sounding if ends[note] > tick]
        sizes[tick] = len({int(pitch[note]) for note in sounding})
    return sizes


def found_sizes(part: PrintedPart, found: Sonorities) -> dict[int, int]:
    onset = part.track.notes.onset_ticks
    members = [found.notes_at(row) for row in range(len(found))]
    return {int(onset[rows].max()): len(rows) for rows in members}


def test_sonorities_of_published_quartets_are_the_printed_ones() -> None:
    # Oracle: printed onsets and lengths; measured 99.96 % of 294,064 onsets of 26 quartets.
    same = total = 0
    for part in printed_parts():
        printed = printed_sizes(part)
        found = found_sizes(part, find_sonorities(part.track.notes))
        same += sum(found.get(tick) == size for tick, size in printed.items())
        total += len(printed)
    assert total > 10_000
    assert same / total > 0.998


@pytest.mark.parametrize("pitch_count", [1, 128])
def test_hanging_notes_do_not_pile_up(pitch_count: int) -> None:
    count = 20_000
    onset_s = np.arange(count) * 0.05
    pitch = np.arange(count) % pitch_count
    notes = notes_from(pitch, onset_s, np.full(count, count * 0.05 + 1))
    begin = time.perf_counter()
    found = find_sonorities(notes)
    assert time.perf_counter() - begin < 2
    assert np.diff(found.first).max() == min(pitch_count, MOST_MEMBERS)
    assert found.struck.tolist() == [1] * count


def test_a_chord_of_a_hundred_keys_keeps_as_many_as_fit() -> None:
    found = find_sonorities(notes_of(*((pitch, 0, 1) for pitch in range(20, 120))))
    assert np.diff(found.first).tolist() == [MOST_MEMBERS]
