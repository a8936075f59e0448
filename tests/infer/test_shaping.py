from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mockcheck.infer.shaping import held_notes, loudness_confidence, loudness_range
from tests.phrases import phrase, played


def test_only_notes_that_are_long_enough_are_held() -> None:
    part = phrase("violin 4/4 q=60 | C5:2 D5:1 E5:1 | F5:4 |")
    (held,) = held_notes(part, 1.5)
    assert part.notes.pitch[held.rows].tolist() == [72, 77]
    assert held_notes(part, 10) == []


def test_a_chord_is_one_held_note_and_plucked_ones_are_none() -> None:
    (held,) = held_notes(phrase("violin 4/4 q=60 | G3+D4:4 | A4:4 |"), 2)
    assert len(held.rows) == 2
    assert held_notes(phrase("violin pizz 4/4 q=60 | C5:4 |"), 1) == []


def test_each_track_of_a_part_has_its_own_notes_and_curve() -> None:
    part = played(
        "violin 4/4 q=60 | cc11@1=40 C5:4 | cc11@1=80 C5:4 |", "violin trem 4/4 | r:8 | D5:4 |"
    ).parts[0]
    assert [len(held.rows) for held in held_notes(part, 2)] == [2, 1]
    assert [held.curve.is_drawn for held in held_notes(part, 2)] == [True, False]


def test_travel_and_swell_and_where_the_peak_is() -> None:
    bars = (
        "cc11@1=40 cc11@2=60 cc11@3=80 cc11@4=60 cc11@4.4=45 A4:4 |"
        " cc11@1=40 cc11@2=60 cc11@3=80 cc11@4=100 A4:4 | cc11@1=70 A4:4 |"
    )
    (held,) = held_notes(phrase(f"violin 4/4 q=60 | {bars}"), 2)
    assert held.travel.tolist() == pytest.approx([40, 60, 0], abs=2)
    assert held.swell.tolist() == pytest.approx([35, 0, 0], abs=2)
    # The note sounds for 3.6 s; its loudest second begins 2 s after the onset.
    assert held.peak_place[0] == pytest.approx(2.5 / 3.6, abs=0.06)


def test_a_value_sent_early_for_the_next_note_does_not_count() -> None:
    (held,) = held_notes(phrase("violin 4/4 q=60 | cc11@1=40 cc11@4.5=90 C5:4 | D5:4 |"), 2)
    assert held.travel.tolist() == [0, 0]


def test_the_range_of_a_part_leaves_out_one_accent_but_not_a_drawn_swell() -> None:
    flat = "C5:1 D5:1 E5:1 F5:1 | " * 8
    assert loudness_range(phrase(f"violin 4/4 q=60 | {flat}")) == 0
    assert loudness_range(phrase(f"violin 4/4 q=60 | v120 C5:1 v80 C5:3 | {flat}")) == 0
    assert loudness_range(phrase(f"violin 4/4 q=60 | v60 {flat} v90 {flat}")) == 30
    swell = "cc11@1=50 cc11@2=90 cc11@4=50 C5:4 | " * 4
    assert loudness_range(phrase(f"violin 4/4 q=60 | {swell}")) == pytest.approx(40)


def test_a_part_without_notes_has_no_range() -> None:
    part = phrase("violin 4/4 q=60 | C5:4 |")
    assert loudness_range(replace(part, notes=part.notes.select(np.zeros(1, np.bool_)))) == 0


def test_the_least_sure_track_decides_how_sure_the_loudness_is() -> None:
    part = played(
        "violin 4/4 q=60 | cc11@1=40 C5:4 | cc11@1=80 C5:4 |", "violin trem 4/4 | r:8 | D5:4 |"
    ).parts[0]
    drawn, unmoved = (curve.confidence for curve in part.dynamics)
    assert drawn > unmoved
    assert loudness_confidence(part, np.array([0, 1])) == drawn
    assert loudness_confidence(part, np.array([0, 2])) == unmoved
    assert loudness_confidence(replace(part, dynamics=()), np.array([0])) == 1


@given(st.lists(st.integers(1, 127), min_size=4, max_size=4))
@settings(max_examples=25)
def test_a_swell_is_never_wider_than_what_is_drawn(values: list[int]) -> None:
    drawn = " ".join(f"cc11@{1 + beat}={value}" for beat, value in enumerate(values))
    (held,) = held_notes(phrase(f"violin 4/4 q=60 | {drawn} C5:4 |"), 2)
    # A curve that moves by less than ten steps is a setting; velocity counts then.
    widest = max(values) - min(values)
    assert 0 <= held.swell[0] <= held.loudness.max() - held.loudness.min() <= widest
    assert 0 <= held.peak_place[0] <= 1
