import pytest
from hypothesis import given
from hypothesis import strategies as st
from music21 import dynamics

from mockcheck.infer.dynamics import dynamic_name
from tests.phrases import phrase, played


def loudness(text: str) -> list[float]:
    heard = phrase(text).loudness
    assert heard is not None
    return [round(float(value), 2) for value in heard]


@pytest.mark.parametrize("name", ["pp", "p", "mp", "mf", "f", "ff"])
def test_names_agree_with_the_shares_of_a_notation_library(name: str) -> None:
    # music21's volume scalar of each dynamic, as a share of 127.
    assert dynamic_name(127 * dynamics.dynamicStrToScalar[name]) == name


def test_names_agree_with_equal_steps_of_sixteen() -> None:
    # Common practice of notation programs: pp 33, p 49, mp 64, mf 80, f 96, ff 112.
    steps = {33: "pp", 49: "p", 64: "mp", 80: "mf", 96: "f", 112: "ff", 16: "ppp"}
    assert {velocity: dynamic_name(velocity) for velocity in steps} == steps


def test_velocity_counts_where_no_controller_moves() -> None:
    assert loudness("violin 4/4 q=60 | C5:2 D5:2 |") == [80, 80]


def test_a_controller_set_once_is_a_setting() -> None:
    assert loudness("violin 4/4 q=60 | cc11@1=40 cc7@1=100 C5:2 D5:2 |") == [80, 80]


def test_a_controller_sent_late_does_not_begin_at_nothing() -> None:
    assert loudness("violin 4/4 q=60 | C5:2 D5:1 cc11@4=100 E5:1 |") == [80, 80, 80]


def test_a_reset_behind_the_last_note_draws_nothing() -> None:
    assert loudness("violin 4/4 q=60 | cc11@1=90 C5:2 r:2 | cc11@1=0 r:4 |") == [80]


@pytest.mark.parametrize("controller", [1, 2, 11])
def test_the_controller_that_moves_is_the_loudness(controller: int) -> None:
    cc = f"cc{controller}"
    text = f"violin 4/4 q=60 | {cc}@1=40 C5:2 {cc}@3=100 D5:2 |"
    assert loudness(text) == [40, 100]


def test_a_swell_counts_as_its_mean_over_the_note() -> None:
    # The note sounds from 0 to 1.8 s: 40 for one second, 100 for 0.8 s.
    expected = (40 * 1.0 + 100 * 0.8) / 1.8
    heard = loudness("violin 4/4 q=60 | cc1@1=40 cc1@2=100 C5:2 r:2 |")
    assert heard == [pytest.approx(expected, abs=0.01)]


def test_the_controller_that_moves_most_is_chosen_and_expression_scales_it() -> None:
    text = "violin 4/4 q=60 | cc1@1=20 cc11@1=127 C5:2 cc1@3=100 cc11@3=64 D5:2 |"
    assert loudness(text) == [20, pytest.approx(100 * 64 / 127, abs=0.01)]


def test_volume_that_moves_scales_velocity() -> None:
    assert loudness("violin 4/4 q=60 | cc7@1=100 C5:2 cc7@3=50 D5:2 |") == [80, 40]


def test_modulation_at_nothing_under_a_sounding_note_is_vibrato() -> None:
    assert loudness("violin 4/4 q=60 | cc1@1=0 C5:2 cc1@3=60 D5:2 |") == [80, 80]


def test_tracks_of_one_part_keep_their_own() -> None:
    part = played(
        "violin 4/4 q=60 | cc1@1=40 C5:2 cc1@3=100 D5:2 |", "violin pizz 4/4 | r:1 A4:1 r:2 |"
    ).parts[0]
    assert part.loudness is not None
    assert part.loudness.tolist() == pytest.approx([40, 80, 100])


@given(st.lists(st.integers(1, 127), min_size=4, max_size=4), st.sampled_from([1, 2, 11]))
def test_loudness_stays_within_what_was_drawn(values: list[int], controller: int) -> None:
    drawn = " ".join(f"cc{controller}@{1 + beat}={v}" for beat, v in enumerate(values))
    (heard,) = loudness(f"violin 4/4 q=60 | {drawn} C5:4 |")
    low, high = min(*values, 80), max(*values, 80)
    assert low - 0.01 <= heard <= high + 0.01
