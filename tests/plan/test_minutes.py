import functools
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mockcheck.model.session_time import SessionTime
from mockcheck.plan.minutes import (
    Cue,
    Demands,
    Estimate,
    SessionPlan,
    cue_of,
    demands_of,
    estimate,
    plan_session,
)
from mockcheck.plan.rehearsal import plan_rehearsal
from tests.plan.cues import SCALE, bars_of, demo, review_of

USUAL = SessionTime()
NAMES = ("Violin 1", "Violin 2", "Viola", "Cello", "Double Bass")
LOW = "C3 D3 Eb3 F3 G3 Ab3 B3 C4 D4 C4 B3 Ab3 G3 F3 Eb3 D3".split()


def cue(*phrases: str, assumed: SessionTime = USUAL) -> Cue:
    return cue_of(plan_rehearsal(review_of(*phrases)), assumed)


@functools.cache
def plain(bars: int) -> Cue:
    """Long notes for five sections at quarter = 80."""
    held = ("A4", "E4", "C4", "E3", "C2")
    return cue(
        *(
            f"{name} 4/4 q=80 | {' '.join([f'{note}:2 {note}:2 |'] * bars)}"
            for name, note in zip(NAMES, held, strict=True)
        )
    )


@functools.cache
def dense(bars: int, q: int, step: str = "1/4") -> Cue:
    """Scales in four sections, semiquavers if nothing else is said."""
    count = {"1/4": 16, "1/2": 8, "1": 4}[step]
    lines = dict.fromkeys(NAMES[:3], SCALE) | {"Cello": LOW}
    phrases = [
        f"{name} 4/4 q={q} | "
        + " ".join([" ".join(f"{n}:{step}" for n in line[:count]) + " |"] * bars)
        for name, line in lines.items()
    ]
    return cue(*phrases, f"Double Bass 4/4 q={q} | {' '.join(['C2:1 D2:1 E2:1 F2:1 |'] * bars)}")


def assert_rising(cues: list[Cue]) -> None:
    for name in ("quick_s", "usual_s", "slow_s"):
        lengths = [getattr(cue.estimate, name) for cue in cues]
        assert lengths == sorted(lengths)
        assert lengths[0] < lengths[-1]


def test_harder_music_of_the_same_length_takes_longer() -> None:
    assert_rising([dense(20, 110, "1"), dense(20, 110, "1/2"), dense(20, 110)])


def test_more_minutes_take_longer() -> None:
    assert_rising([plain(10), plain(20), plain(40)])
    assert_rising([dense(10, 126), dense(20, 126)])


def test_faster_players_take_less() -> None:
    demands = dense(20, 126).demands
    slips = (0.3, 0.15, 0.05, 0.0)
    lengths = [
        estimate(demands, USUAL.model_copy(update={"slips_in_heaviest_bar": n})).usual_s
        for n in slips
    ]
    assert lengths == sorted(lengths, reverse=True)
    assert len(set(lengths)) == len(lengths)


def demand_lists() -> st.SearchStrategy[Demands]:
    loads = st.lists(st.lists(st.floats(0, 1), min_size=3, max_size=3), min_size=1, max_size=4)
    return st.builds(
        lambda music, rows, spots, passes: Demands(music, np.array(rows), spots, passes),
        st.floats(1, 3000),
        loads,
        st.integers(0, 20),
        st.floats(0, 2000),
    )


@given(demand_lists(), st.data())
@settings(max_examples=60)
def test_nothing_harder_longer_or_slower_is_ever_shorter(
    demands: Demands, data: st.DataObject
) -> None:
    base = estimate(demands, USUAL)
    row = data.draw(st.integers(0, len(demands.loads) - 1))
    loads = demands.loads.copy()
    loads[row, 0] = data.draw(st.floats(float(loads[row, 0]), 1))
    harder = [
        replace(demands, loads=loads),
        replace(demands, music_s=demands.music_s * 1.3),
        replace(demands, spots=demands.spots + 1, passes_s=demands.passes_s + 10),
    ]
    slower = [
        USUAL.model_copy(update={name: getattr(USUAL, name) * 1.2 + 0.1})
        for name in SessionTime.model_fields
        if name not in ("hour_min", "break_min", "set_up_min")
    ]
    after = [estimate(one, USUAL) for one in harder]
    after += [estimate(demands, one) for one in slower]
    for other in after:
        assert other.quick_s >= base.quick_s
        assert other.usual_s >= base.usual_s
        assert other.slow_s >= base.slow_s


@given(demand_lists())
@settings(max_examples=60)
def test_it_is_a_range_and_its_items_add_up(demands: Demands) -> None:
    own = estimate(demands, USUAL)
    assert own.quick_s < own.usual_s < own.slow_s
    assert sum(seconds for _, seconds in own.items) == pytest.approx(own.usual_s)


def test_the_spots_alone_are_their_passes_and_the_talk() -> None:
    plan = plan_rehearsal(demo())
    own = dict(cue_of(plan, USUAL).estimate.items)
    assert own["spots alone"] == pytest.approx(plan.seconds + 20 * len(plan.exercises))
    assert demands_of(plan).passes_s == plan.seconds


def test_a_plain_and_a_dense_cue_of_four_minutes_lie_at_the_anchors() -> None:
    # Proposed anchors: 8 to 10 finished minutes an hour for plain legato, 2.5 to 3 for dense fast
    # music. The numbers of SessionTime are set by these, so they prove no more than that.
    easy = plain(80)
    assert easy.demands.music_s == pytest.approx(240, abs=2)
    assert 8 <= easy.per_hour(easy.estimate.usual_s) <= 10
    for q in (132, 140):
        hard = dense(q, q)
        assert hard.demands.music_s == pytest.approx(240, abs=2)
        slow, quick = hard.per_hour(hard.estimate.slow_s), hard.per_hour(hard.estimate.quick_s)
        assert slow < 2.75 < quick


def test_the_demo_lies_where_the_trade_has_it() -> None:
    # Three to five finished minutes are safe, five to six with fast players: common practice.
    own = cue_of(plan_rehearsal(demo()), USUAL)
    slow, quick = own.per_hour(own.estimate.slow_s), own.per_hour(own.estimate.quick_s)
    assert slow < 5
    assert quick > 5


@functools.cache
def calm_cue(players: int) -> Cue:
    review = review_of(
        bars_of("calm calm", q=80), brief={"tracks": [{"match": "*", "players": players}]}
    )
    return cue_of(plan_rehearsal(review), USUAL)


def lasting(minutes: float, doubt: float = 0.2, players: int = 8) -> Cue:
    """A cue that takes so long, give or take a share."""
    base = calm_cue(players)
    seconds = 60 * minutes
    own = Estimate(seconds * (1 - doubt), seconds, seconds * (1 + doubt), ())
    return replace(base, estimate=own)


def timetable(plan: SessionPlan) -> list[tuple[float, bool, int]]:
    return [
        (round(entry.begins_s / 60, 3), entry.is_after_break, entry.breaks_inside)
        for entry in plan.entries
    ]


def test_a_break_comes_before_a_cue_that_does_not_fit_into_the_hour() -> None:
    plan = plan_session([lasting(25, 0.3), lasting(20, 0.2)], USUAL)
    # Ten minutes of set-up and 25 of the first cue leave 15 of fifty.
    assert timetable(plan) == [(10, False, 0), (45, True, 0)]
    assert plan.usual_s == 60 * 65


def test_a_cue_that_fits_is_not_put_off() -> None:
    plan = plan_session([lasting(20, 0.3), lasting(20, 0.2)], USUAL)
    assert timetable(plan) == [(10, False, 0), (30, False, 0)]
    assert plan.usual_s == 60 * 50


def test_a_long_cue_has_its_breaks_within() -> None:
    plan = plan_session([lasting(130)], USUAL)
    assert timetable(plan) == [(10, False, 2)]
    assert plan.usual_s == 60 * (10 + 130 + 20)


@given(st.lists(st.floats(1, 120), min_size=1, max_size=8))
@settings(max_examples=30)
def test_nobody_plays_longer_than_an_hour_without_a_break(lengths: list[float]) -> None:
    plan = plan_session([lasting(n) for n in lengths], USUAL)
    playing = 0.0
    for entry in plan.entries:
        if entry.is_after_break:
            playing = 0.0
        playing += entry.cue.estimate.usual_s
        playing -= entry.breaks_inside * 60 * USUAL.hour_min
        assert playing <= 60 * USUAL.hour_min + 1e-6
    breaks = sum(entry.is_after_break + entry.breaks_inside for entry in plan.entries)
    total = USUAL.set_up_min + breaks * USUAL.break_min + sum(lengths)
    assert plan.usual_s == pytest.approx(60 * total)


def test_the_fullest_cue_comes_first_then_the_least_certain_which_is_the_risk() -> None:
    small, sure, unsure = lasting(20, 0.5, 4), lasting(20, 0.1), lasting(20, 0.4)
    plan = plan_session([small, sure, unsure], USUAL)
    assert [id(entry.cue) for entry in plan.entries] == [id(unsure), id(sure), id(small)]
    assert plan.risk is small
    assert plan.quick_s < plan.usual_s < plan.slow_s


def test_a_studio_hour_holds_the_break() -> None:
    own = lasting(50)
    assert own.per_hour(own.estimate.usual_s) == pytest.approx(own.demands.music_s / 60)
