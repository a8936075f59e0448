import time
from itertools import pairwise

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from mockcheck.infer.texture import MOST_LINES
from tests.infer.tracks import Row, line, notes_from, notes_of
from tests.infer.voice_tracks import hear, voices_of

TUNE = [72, 74, 76, 77, 79, 77, 76, 74, 72, 71, 72, 74, 76, 74, 72, 72]


def test_no_notes_have_no_voices() -> None:
    assert hear(notes_of()).voices.tolist() == []


def test_a_plain_line_is_one_voice() -> None:
    assert voices_of(line(TUNE, 0.4)) == [[0] * len(TUNE)]


def test_a_leaping_line_with_legato_overlaps_is_one_voice() -> None:
    leaps = [60, 79, 55, 84, 62, 77, 57, 81] * 3
    assert voices_of(line(leaps, 0.5, share=1.2)) == [[0] * len(leaps)]


def test_two_lines_in_parallel_keep_their_places() -> None:
    upper, lower = line(TUNE, 0.4), line([pitch - 4 for pitch in TUNE], 0.4)
    assert voices_of(upper, lower) == [[0] * len(TUNE), [1] * len(TUNE)]


def test_a_canon_at_the_fifth_below_is_followed() -> None:
    leader = line(TUNE * 2, 0.4)
    follower = line([pitch - 7 for pitch in TUNE * 2], 0.4, begin_s=1.8)
    assert voices_of(leader, follower) == [[0] * len(leader), [1] * len(follower)]


def test_a_canon_in_three_voices_is_followed() -> None:
    lines = [
        line([pitch - 12 * n for pitch in TUNE * 2], 0.4, begin_s=1 + 0.8 * n) for n in range(3)
    ]
    assert voices_of(*lines) == [[n] * len(lines[n]) for n in range(3)]


def test_a_line_that_climbs_over_a_held_note_comes_back_to_its_own() -> None:
    held = line([72, 71, 72, 73], 2.4, share=0.98)
    climbing = line([60, 64, 67, 74, 76, 69, 65, 62] * 4, 0.3)
    assert voices_of(held, climbing) == [[0] * 4, [1] * 32]


def test_a_quick_note_above_the_slow_line_leaves_both_where_they_were() -> None:
    slow = line([76, 74, 72, 70, 69, 72, 74, 76], 0.8)
    quick = line([60, 62, 64, 65] * 3 + [67, 72, 67, 65] + [67, 65, 64, 62] * 4, 0.2)
    assert voices_of(slow, quick) == [[0] * 8, [1] * 32]


def test_a_suspended_note_stays_on_its_line() -> None:
    upper = line([74, 72, 71, 69] * 3, 1.0, share=0.99)
    lower = line([65, 64, 62, 60] * 3, 1.0, share=0.99, begin_s=1.5)
    assert voices_of(upper, lower) == [[0] * 12, [1] * 12]


def test_a_pedal_note_stays_below_a_moving_line() -> None:
    pedal = line([55] * 3, 4.0)
    assert voices_of(line(TUNE + TUNE[:8], 0.5), pedal) == [[0] * 24, [1] * 3]


def test_a_doubled_key_has_the_line_of_its_double() -> None:
    # Two tracks play the upper line together; the doubles are released at other times.
    upper, double = line(TUNE, 0.4), line(TUNE, 0.4, share=0.6)
    lower = line([pitch - 9 for pitch in TUNE], 0.4)
    assert voices_of(upper, double, lower) == [[0] * 16, [0] * 16, [1] * 16]


def test_lines_that_meet_in_unison_part_again_as_they_were() -> None:
    upper = line([72, 71, 69, 67, 69, 71, 72, 74], 0.5)
    lower = [row for row in line([60, 62, 64, 67, 65, 64, 62, 60], 0.5) if row[0] != 67]
    assert voices_of(upper, lower)[1] == [1] * 7


def test_a_chord_at_the_end_leaves_two_lines_two() -> None:
    upper, lower = line(TUNE * 2, 0.4), line([pitch - 5 for pitch in TUNE * 2], 0.4)
    end = [(pitch, 15.0, 16.0) for pitch in (79, 72, 67, 60)]
    heard = voices_of(upper, lower, end)
    assert heard[:2] == [[0] * 32, [1] * 32]
    assert sorted(heard[2]) == [0, 1, 2, 3]


def test_a_line_played_louder_is_known_by_it() -> None:
    # Two lines on the same notes in turn: only loudness tells which is which.
    rows = [*line([72, 74, 72, 74] * 4, 0.5), *line([74, 72, 74, 72] * 4, 0.5)]
    notes = notes_of(*rows)
    loud = np.array([(row // 2 + row) % 2 == 0 for row in range(len(notes))])
    assert {72, 74} == set(notes.pitch[loud].tolist())
    object.__setattr__(notes, "velocity", np.where(loud, 110, 50).astype(np.uint8))
    voices = hear(notes).voices
    assert len(set(voices[loud].tolist())) == len(set(voices[~loud].tolist())) == 1


Texture = list[list[tuple[int, float]]]
"""Lines of (pitch, seconds)."""

textures: st.SearchStrategy[Texture] = st.lists(
    st.lists(
        st.tuples(st.integers(55, 90), st.sampled_from([0.25, 0.5, 0.75, 1.0])),
        min_size=1,
        max_size=12,
    ),
    min_size=1,
    max_size=5,
)


def rows_of(texture: Texture, semitones: int = 0, seconds: float = 0.0) -> list[Row]:
    rows: list[Row] = []
    for notes in texture:
        begin_s = 1.0 + seconds
        for pitch, length_s in notes:
            rows.append((pitch + semitones, begin_s, begin_s + 0.9 * length_s))
            begin_s += length_s
    return rows


@given(textures)
@settings(max_examples=60)
def test_every_note_gets_a_line_and_notes_struck_together_different_ones(texture: Texture) -> None:
    heard = hear(notes_of(*rows_of(texture)))
    voices = heard.voices
    assert len(voices) == len(heard.notes)
    assert voices.min() >= 0
    for row in range(len(heard.sonorities)):
        members = heard.sonorities.notes_at(row)
        struck = members[heard.ends.onset_of_note[members] == row]
        assert len(set(voices[struck].tolist())) == len(struck)
        assert len(set(voices[members].tolist())) == len(members)


@given(textures, st.integers(-20, 20), st.sampled_from([0.5, 7.25, 1234.5]))
@settings(max_examples=40)
def test_transposing_and_shifting_leave_lines_alone(
    texture: Texture, semitones: int, seconds: float
) -> None:
    plain = hear(notes_of(*rows_of(texture))).voices
    moved = hear(notes_of(*rows_of(texture, semitones, seconds))).voices
    assert moved.tolist() == plain.tolist()


def test_more_notes_than_lines_join_the_lowest() -> None:
    voices = hear(notes_of(*((pitch, 0, 1) for pitch in range(50, 70, 2)))).voices
    assert voices.tolist() == [7, 7, 7, 6, 5, 4, 3, 2, 1, 0]
    assert voices.max() == MOST_LINES - 1


def test_a_hundred_thousand_notes_take_seconds_and_twice_the_notes_twice_the_time() -> None:
    chance = np.random.default_rng(1)
    seconds = []
    for count in (12_500, 25_000):
        onset_s = np.concatenate([np.cumsum(chance.choice([0.25, 0.5], count)) for _ in range(2)])
        pitch = np.concatenate([chance.integers(low, low + 15, count) for low in (72, 60)])
        heard = hear(notes_from(pitch, onset_s, onset_s + 0.2))
        begin_s = time.process_time()
        assert len(heard.voices) == 2 * count
        seconds.append(time.process_time() - begin_s)
    assert seconds[1] < 3 * seconds[0]
    # Measured: 3 s for 100,000 notes on two lines.
    assert 2 * seconds[1] < 12


def test_voices_of_the_same_music_twice_repeat() -> None:
    texture = [[(72, 0.5), (74, 0.25), (71, 0.75)], [(60, 0.75), (62, 0.75)]]
    once = rows_of(texture)
    again = rows_of(texture, seconds=100)
    voices = hear(notes_of(*once, *again)).voices
    assert all(one == two for one, two in pairwise([voices[:5].tolist(), voices[5:].tolist()]))
