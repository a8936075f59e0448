from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from music21 import dynamics

from mockcheck.infer.dynamics import Carrier, dynamic_name, dynamics_curve
from mockcheck.model.curves import Curve
from mockcheck.model.dynamics import DynamicsCurve
from mockcheck.model.session import Session, Switch, TrackChoice
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


def curve(text: str) -> DynamicsCurve:
    (heard,) = phrase(text).dynamics
    return heard


def test_velocity_makes_a_curve_of_the_loudest_note_of_each_onset() -> None:
    heard = curve("violin 4/4 q=60 | v60 C5:1 v90 G3+D4:1 v61 E5:2 |")
    assert (heard.source, heard.is_drawn) == ("velocity", False)
    assert heard.ticks.tolist() == [0, 480, 960]
    assert heard.loudness.tolist() == [60, 90, 61]
    assert heard.time_s.tolist() == [0, 1, 2]


def test_a_controller_makes_a_curve_from_the_first_onset_to_the_last_release() -> None:
    text = "cc11@1=20 r:4 | cc11@1=40 C5:4 | cc11@1=90 D5:4 | cc11@1=0 r:4 |"
    heard = curve(f"violin 4/4 q=60 | {text}")
    assert (heard.source, heard.is_drawn) == ("controller 11", True)
    assert heard.ticks.tolist() == [4 * 480, 8 * 480]
    assert heard.loudness.tolist() == [40, 90]


def test_values_at_any_second_and_before_the_first() -> None:
    heard = curve("violin 4/4 q=60 | cc11@1=40 C5:2 cc11@3=90 D5:2 |")
    assert heard.value_at(np.array([-1.0, 0.0, 1.9, 2.0, 99.0])).tolist() == [40, 40, 40, 90, 90]


def test_what_is_sent_at_once_counts_once_and_small_changes_not_at_all() -> None:
    dense = " ".join(f"cc11@{1 + n / 100:.2f}={40 + n // 8}" for n in range(300))
    heard = curve(f"violin 4/4 q=60 | {dense} C5:4 |")
    # Three seconds rise from 40 to 77: a point every two steps, not one for each of 300 values.
    assert 12 <= len(heard.ticks) <= 20
    times = np.linspace(0, 3, 50)
    true = 40 + np.floor(np.minimum(times * 100, 299) / 8)
    assert np.abs(heard.value_at(times) - true).max() <= 3


def test_expression_that_moves_beside_modulation_is_named_and_lowers_the_confidence() -> None:
    both = curve("violin 4/4 q=60 | cc1@1=20 cc11@1=127 C5:2 cc1@3=100 cc11@3=64 D5:2 |")
    one = curve("violin 4/4 q=60 | cc1@1=20 C5:2 cc1@3=100 D5:2 |")
    assert both.source == "controller 1 and 11"
    assert both.loudness.tolist() == pytest.approx([20, 100 * 64 / 127])
    assert both.confidence < one.confidence


def test_volume_is_named_beside_velocity_or_alone_where_velocity_says_nothing() -> None:
    moved = "cc7@1=100 {} C5:2 cc7@3=50 {} D5:2"
    assert curve(f"violin 4/4 q=60 | {moved.format('v90', 'v60')} |").source == (
        "velocity and controller 7"
    )
    assert curve(f"violin 4/4 q=60 | {moved.format('', '')} |").source == "controller 7"


def test_how_sure_it_is_depends_on_what_carries_it() -> None:
    texts = (
        "cc11@1=40 C5:2 cc11@3=90 D5:2",
        "v50 C5:2 v90 D5:2",
        "C5:2 D5:2",
    )
    sure = [curve(f"violin 4/4 q=60 | {text} |").confidence for text in texts]
    assert sure == sorted(sure, reverse=True)
    assert len(set(sure)) == 3


def test_vibrato_drawn_into_each_note_gives_way_to_a_drawn_expression() -> None:
    note = "cc1@{on}=0 cc1@{late}=110 cc11@{on}={level}"
    bar = " ".join(
        note.format(on=on, late=on + 1, level=level) + " A4:2" for on, level in ((1, 50), (3, 90))
    )
    heard = curve(f"violin 4/4 q=60 | {bar} | {bar} |")
    assert heard.source == "controller 11"
    assert heard.loudness.tolist() == [50, 90, 50, 90]


def test_a_controller_that_changes_the_stroke_carries_no_dynamics() -> None:
    music = "violin 4/4 q=60 | cc1@1=10 C5:2 cc1@3=100 D5:2 |"
    strokes = tuple(
        Switch(name, controller=1, low=low, high=low + 60)
        for name, low in (("legato", 0), ("spiccato", 61))
    )
    session = Session(tracks=(TrackChoice("violin", switches=strokes),))
    (heard,) = phrase(music, session).dynamics
    assert (heard.source, heard.loudness.tolist()) == ("velocity", [80])


def test_on_a_channel_for_each_stroke_the_latest_note_decides() -> None:
    part = phrase("violin 4/4 q=60 | C5:1 D5:1 E5:1 F5:1 |")
    notes = replace(part.notes, channel=np.array([1, 2, 2, 1], np.uint8))
    carriers = {
        channel: Carrier("controller 11", step_curve(*values), (), sure)
        for channel, values, sure in ((1, (40, 60), 0.95), (2, (100, 70), 0.85))
    }
    (heard,) = dynamics_curve(notes, carriers, 3)
    assert heard.track == 3
    assert heard.loudness.tolist() == [40, 100, 70, 60]
    assert heard.time_s.tolist() == [0, 1, 2.5, 3]
    assert heard.confidence == pytest.approx(0.9)


def step_curve(first: float, second: float) -> Curve:
    """One value to 2.5 s, and another from there on."""
    return Curve(np.array([0, 1200]), np.array([0.0, 2.5]), np.array([first, second]), first)


def test_no_notes_no_curve() -> None:
    notes = phrase("violin 4/4 q=60 | C5:4 |").notes
    assert dynamics_curve(notes.select(np.zeros(1, np.bool_)), {}, 0) == ()


@given(st.lists(st.integers(1, 127), min_size=4, max_size=8))
def test_a_curve_never_strays_from_what_was_sent_by_more_than_it_may(values: list[int]) -> None:
    drawn = " ".join(f"cc11@{1 + beat}={value}" for beat, value in enumerate(values))
    heard = curve(f"violin 8/4 q=60 | {drawn} C5:8 |")
    if heard.source == "velocity":
        assert max(values) - min(values) < 10
        return
    sent = np.array(values, np.float64)
    assert np.abs(heard.value_at(np.arange(len(values), dtype=np.float64) + 0.5) - sent).max() < 2
