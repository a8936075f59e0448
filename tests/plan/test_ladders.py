import functools

import pytest

from mockcheck.plan.ladders import (
    COMFORTABLE_HEADROOM,
    FROM_HALF,
    FROM_THREE_QUARTERS,
    Ladder,
    ladder_of,
)
from mockcheck.plan.spots import Spot, choose_spots
from tests.plan.cues import bars_of, music_with, review_music, review_of
from tests.plan.test_spots import REVIEWS, planned


def ladders(name: str) -> list[tuple[Spot, Ladder]]:
    review, spots = planned(name)
    return [(spot, ladder_of(spot, review.played.score.timeline)) for spot in spots]


@pytest.mark.parametrize("name", REVIEWS)
def test_a_ladder_starts_where_hands_are_comfortable_if_half_the_tempo_is(name: str) -> None:
    for spot, ladder in ladders(name):
        first = ladder.rungs[0].share
        comfortable = spot.headroom / first >= COMFORTABLE_HEADROOM
        assert comfortable or (first == 0.5 and spot.headroom < COMFORTABLE_HEADROOM / 2)


@pytest.mark.parametrize("name", REVIEWS)
def test_a_ladder_rises_to_the_written_tempo_in_three_or_four_passes(name: str) -> None:
    for _, ladder in ladders(name):
        shares = tuple(rung.share for rung in ladder.rungs)
        assert shares in (FROM_HALF, FROM_THREE_QUARTERS)
        assert shares[-1] == 1
        assert len(shares) in (3, 4)
        seconds = [rung.seconds * rung.share for rung in ladder.rungs]
        assert seconds == pytest.approx([seconds[0]] * len(shares))
        clicks = [rung.click_bpm / rung.share for rung in ladder.rungs]
        assert clicks == pytest.approx([clicks[0]] * len(shares))


@functools.cache
def one(q: int) -> tuple[Spot, Ladder]:
    review = review_of(bars_of("rest run calm calm calm", q=q))
    (spot,) = choose_spots(review)
    return spot, ladder_of(spot, review.played.score.timeline)


@pytest.mark.parametrize("q", [150, 180, 200, 240, 320])
def test_the_first_pass_judged_anew_at_its_own_tempo_is_comfortable(q: int) -> None:
    spot, ladder = one(q)
    slow = review_of(bars_of("rest run calm calm calm", q=round(q * ladder.rungs[0].share)))
    headroom = slow.played.parts[0].headroom
    assert headroom is not None
    assert headroom == pytest.approx(spot.headroom / ladder.rungs[0].share, rel=0.02)
    assert headroom >= COMFORTABLE_HEADROOM * 0.98 or ladder.rungs[0].share == 0.5


def test_a_pass_takes_two_bars_and_the_spot() -> None:
    spot, ladder = one(180)
    bars = spot.last_bar_index - spot.first_bar_index + 1
    for rung in ladder.rungs:
        beat_s = 60 / 180 / rung.share
        assert rung.count_in_s == pytest.approx(8 * beat_s, rel=1e-4)
        assert rung.passage_s == pytest.approx(4 * bars * beat_s, rel=1e-4)
        assert rung.click_bpm == pytest.approx(180 * rung.share, rel=1e-4)
    assert ladder.seconds == sum(rung.seconds for rung in ladder.rungs)
    assert ladder.beat == "quarter"
    assert not ladder.tempos_change


def test_a_change_of_tempo_or_metre_within_the_spot_is_said_and_timed() -> None:
    # The third bar of 4/4 begins at tick 3840; the tempo halves in its middle.
    steady = music_with([(1, 4, 4)], [3], 6)
    halved = music_with([(1, 4, 4)], [3], 6, ((0, 500_000), (3840 + 960, 1_000_000)))
    compound = music_with([(1, 4, 4), (3, 6, 8)], [3], 6)
    results = []
    for music in (steady, halved, compound):
        review = review_music(music)
        spot = next(s for s in choose_spots(review) if s.first_bar_index == 2)
        results.append(ladder_of(spot, review.played.score.timeline))
    assert [ladder.tempos_change for ladder in results] == [False, True, False]
    full = [ladder.rungs[-1] for ladder in results]
    bars = round(full[0].passage_s / 2)
    assert full[1].passage_s == pytest.approx(1 + 2 + 4 * (bars - 1))
    assert full[1].count_in_s == full[0].count_in_s == pytest.approx(4)
    assert results[2].beat == "dotted quarter"
    assert full[2].click_bpm == pytest.approx(80)
