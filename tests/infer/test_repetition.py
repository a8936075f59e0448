from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mockcheck.infer.repetition import Repetition, identical_repetitions
from tests.phrases import phrase, played


def rows(text: str, least: int = 4) -> list[Repetition]:
    return list(identical_repetitions(phrase(f"violin 4/4 q=120 | {text} |"), least))


def lengths(text: str, least: int = 4) -> list[int]:
    return [len(row.first_notes) for row in rows(text, least)]


def test_a_row_is_as_long_as_its_notes_and_knows_its_pace() -> None:
    (row,) = rows("C5:1 A4:1/2 A4:1/2 A4:1/2 A4:1/2 A4:1/2 C5:1/2")
    assert row.first_notes == (1, 2, 3, 4, 5)
    assert row.gap_s == pytest.approx(0.25)


def test_any_difference_ends_a_row() -> None:
    assert lengths("A4:1/2 A4:1/2 A4:1/2 B4:1/2 A4:1/2 A4:1/2") == []
    assert lengths("A4:1/2 A4:1/2 A4:1/2 v90 A4:1/2 A4:1/2 A4:1/2") == []
    assert lengths("A4:1/2 A4:1/2 A4:1/2. A4:1/2 A4:1/2 A4:1/2") == []
    assert lengths("A4:1/2 A4:1/2 A4:1/2 r:1/4 A4:1/2 A4:1/2 A4:1/2") == []
    assert lengths("A4:1/2 A4:1/2 A4:1/2 A4:1/2 A4:1/2 A4:1/2") == [6]


def test_the_last_note_may_ring_but_is_then_no_copy() -> None:
    assert lengths("A4:1/2 A4:1/2 A4:1/2 A4:1/2 A4:2") == [4]


def test_chords_repeat_as_a_whole() -> None:
    assert lengths("G3+D4:1/2 G3+D4:1/2 G3+D4:1/2 G3+D4:1/2") == [4]
    assert lengths("G3+D4:1/2 G3:1/2 G3+D4:1/2 G3:1/2 G3+D4:1/2 G3:1/2") == []
    assert lengths("G3+D4:1/2 G3+E4:1/2 G3+D4:1/2 G3+E4:1/2 G3+D4:1/2") == []


def test_a_crescendo_drawn_over_them_makes_them_differ() -> None:
    notes = " ".join(f"cc11@{1 + n / 2}={40 + 8 * n} A4:1/2" for n in range(8))
    part = phrase(f"violin 4/4 q=120 | {notes} |")
    assert list(identical_repetitions(part, 4)) == []
    assert len(list(identical_repetitions(replace(part, loudness=None), 4))) == 1


def test_slow_notes_are_no_row() -> None:
    assert lengths("A4:1 A4:1 A4:1 A4:1") == [4]
    assert lengths("A4:1.1 A4:1.1 A4:1.1 A4:1.1") == []


def test_each_track_is_looked_at_by_itself() -> None:
    row = " ".join(["A4:1/2"] * 6)
    part = played(f"violin 4/4 q=120 | {row} |", f"violin spicc 4/4 | r:4 | {row} |").parts[0]
    assert [len(found.first_notes) for found in identical_repetitions(part, 4)] == [6, 6]
    assert {int(part.track[found.first_notes[0]]) for found in identical_repetitions(part, 4)} == {
        role.index for role in part.roles
    }


@given(st.integers(3, 30), st.integers(3, 30))
@settings(max_examples=25)
def test_a_row_of_any_length_is_found_from_the_least_on(count: int, least: int) -> None:
    expected = [count] if count >= least else []
    assert lengths(f"C5:1 {'A4:1/2 ' * count} C5:1", least) == expected
