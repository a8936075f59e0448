import csv
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from mockcheck.instruments import instrument
from mockcheck.playing.chords import chord
from mockcheck.playing.fingerboard import fingerboard
from mockcheck.playing.hand import THUMB, hand_for
from mockcheck.playing.placements import MOST_PLACEMENTS, UNUSED, Placements, placements

REFERENCE = Path(__file__).parent.parent.parent / "fixtures" / "reference"


def of(name: str, *pitches: int) -> Placements:
    board = fingerboard(instrument(name))
    return placements(board, hand_for(board.string_length_mm), pitches)


def choices(found: Placements) -> set[tuple[int, int]]:
    """(string, finger) of single notes."""
    return {
        (int(np.flatnonzero(stop != UNUSED)[0]), int(finger[stop != UNUSED][0]))
        for stop, finger in zip(found.stop, found.finger, strict=True)
    }


def test_the_lowest_stopped_note_of_the_violin_has_one_string() -> None:
    # A flat 3 is only on the G string; in half position the first finger takes it.
    assert {string for string, _ in choices(of("violin", 56))} == {3}
    assert (3, 1) in choices(of("violin", 56))


def test_an_open_string_leaves_the_hand_anywhere() -> None:
    found = of("violin", 69)
    is_open = found.stop[:, 1] == 0
    assert len(set(found.hand_mm[is_open])) >= 8
    assert (found.finger[is_open] == 0).all()


def test_fingers_of_first_position_are_those_of_every_tutor() -> None:
    # D4 string: E 1, F# 2, G 3, A 4 in first position: common practice, no source.
    for pitch, finger in ((64, 1), (66, 2), (67, 3), (69, 4)):
        assert (2, finger) in choices(of("violin", pitch))


def test_the_cello_has_thumb_position_high_up_and_no_fourth_finger_there() -> None:
    high = of("cello", 57 + 19)
    assert high.is_thumb.any()
    assert THUMB in {finger for _, finger in choices(high)}
    assert 4 not in high.finger[high.is_thumb]
    assert not of("violin", 76 + 19).is_thumb.any()


def test_the_bass_uses_no_third_finger_on_the_neck() -> None:
    low = of("double bass", 31)
    assert 3 not in low.finger[~low.is_thumb]


def test_notes_below_the_strings_have_no_placement() -> None:
    assert len(of("viola", 47)) == 0


@pytest.mark.parametrize("table", ["double_stops.csv", "triple_quad_stops.csv"])
def test_every_chord_that_one_player_can_hold_has_a_placement(table: str) -> None:
    for row in csv.DictReader((REFERENCE / table).read_text(encoding="utf-8").splitlines()):
        text = row["pitches"] if "pitches" in row else f"{row['lower_midi']} {row['upper_midi']}"
        pitches = tuple(sorted({int(pitch) for pitch in text.split()}))
        if len(pitches) > 1 and chord(row["instrument"], pitches).is_playable:
            assert len(of(row["instrument"], *pitches)), (row["instrument"], pitches)


@given(st.integers(55, 100))
def test_every_placement_sounds_the_note_within_reach(pitch: int) -> None:
    violin = fingerboard(instrument("violin"))
    found = of("violin", pitch)
    assert 0 < len(found) <= MOST_PLACEMENTS
    strings = np.array(violin.open_strings)
    sounding = np.where(found.stop != UNUSED, found.stop + strings, -1).max(axis=1)
    assert (sounding == pitch).all()
    assert (np.diff(found.unease) >= 0).all()


@given(st.integers(55, 90))
def test_a_wider_hand_has_no_fewer_choices(pitch: int) -> None:
    violin = fingerboard(instrument("violin"))
    hand = hand_for(violin.string_length_mm)
    wide = replace(hand, widest_mm=tuple(1.2 * reach for reach in hand.widest_mm))
    narrow_choices = choices(placements(violin, hand, (pitch,)))
    if len(placements(violin, wide, (pitch,))) < MOST_PLACEMENTS:
        assert narrow_choices <= choices(placements(violin, wide, (pitch,)))
