from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from mockcheck.errors import BadBrief
from mockcheck.instruments import instrument
from mockcheck.playing.chords import chord
from mockcheck.playing.division import Division, divide


def shared(name: str, pitches: tuple[int, ...], players: int) -> Division:
    division = divide(name, pitches, players)
    assert division is not None
    return division


def pitch_lines(division: Division) -> list[tuple[int, ...]]:
    return [line.pitches for line in division.lines]


def test_a_section_takes_one_note_each() -> None:
    division = shared("viola", (48, 52, 55), 8)
    assert pitch_lines(division) == [(55,), (52,), (48,)]
    assert [line.players for line in division.lines] == [3, 3, 2]
    assert division.suggestion == (
        "Divide in 3 (div. a 3): G3 (3 players), E3 (3 players), C3 (2 players)."
    )


def test_two_players_share_a_triad_with_one_double_stop() -> None:
    # G3 and B3 need the G string both, so the double stop is B3 with the open D.
    division = shared("violin", (55, 59, 62), 2)
    assert pitch_lines(division) == [(59, 62), (55,)]
    assert division.fewest_lines == 2
    assert "B3 with D4 as a double stop (1 player)" in division.suggestion


def test_the_easier_double_stops_are_taken() -> None:
    # Close octaves of one triad: thirds, sixths and open strings rather than stretches.
    division = shared("violin", (60, 64, 67, 71, 74, 77), 3)
    assert len(division.lines) == 3
    assert {line.verdict for line in division.lines} <= {"easy", "possible"}


def test_one_player_may_hold_both_notes() -> None:
    division = shared("violin", (62, 71), 1)
    assert pitch_lines(division) == [(62, 71)]
    assert division.suggestion == "Give D4 with B4 as a double stop to every player."


def test_notes_of_one_string_need_a_player_each() -> None:
    division = shared("violin", (55, 57, 59, 60), 3)
    assert division.fewest_lines == 4
    assert not division.is_enough
    assert "need 4 players, and the part has 3" in division.suggestion


def test_doubled_pitches_count_once() -> None:
    assert pitch_lines(shared("violin", (60, 60, 64), 4)) == [(64,), (60,)]


def test_no_dividing_helps_a_note_below_the_instrument() -> None:
    assert divide("viola", (40, 60), 8) is None
    assert divide("violin", (60, 110), 8) is None


def test_the_suggestion_names_notes_as_the_user_does() -> None:
    division = divide("viola", (48, 52), 2, middle_c_octave=3)
    assert division is not None
    assert "E2 (1 player), C2 (1 player)" in division.suggestion


def test_twenty_notes_are_shared_out_in_reasonable_time() -> None:
    division = shared("cello", tuple(range(36, 56)), 10)
    assert sorted(pitch for line in division.lines for pitch in line.pitches) == list(range(36, 56))
    assert division.is_enough


@pytest.mark.parametrize(
    ("pitches", "players", "words"),
    [((60, 64), 0, "at least one player"), ((), 4, "one or more MIDI pitches")],
)
def test_nothing_to_divide_is_refused_in_words(
    pitches: tuple[int, ...], players: int, words: str
) -> None:
    with pytest.raises(BadBrief, match=words):
        divide("violin", pitches, players)


def fewest_by_trying(name: str, notes: tuple[int, ...]) -> int:
    """The least number of lines, by trying every choice of separate pairs."""
    pairs = [pair for pair in combinations(notes, 2) if chord(name, pair).is_playable]
    for count in range(len(notes) // 2, 0, -1):
        for chosen in combinations(pairs, count):
            if len({pitch for pair in chosen for pitch in pair}) == 2 * count:
                return len(notes) - count
    return len(notes)


@given(
    st.sampled_from(["violin", "viola", "cello", "double bass"]),
    st.sets(st.integers(0, 24), min_size=1, max_size=6),
    st.integers(1, 16),
)
def test_every_note_is_played_once_by_lines_that_can_be_played(
    name: str, heights: set[int], players: int
) -> None:
    low = instrument(name).lowest
    notes = tuple(sorted(low + height for height in heights))
    division = shared(name, notes, players)
    assert sorted(pitch for line in division.lines for pitch in line.pitches) == list(notes)
    assert all(len(line.pitches) <= 2 for line in division.lines)
    assert all(chord(name, line.pitches).is_playable for line in division.lines)
    assert sum(line.players for line in division.lines) == players
    assert division.fewest_lines == fewest_by_trying(name, notes)
    # Single notes while there are players for them.
    assert len(division.lines) == min(len(notes), max(players, division.fewest_lines))
