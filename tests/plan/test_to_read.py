from mockcheck.plan.heavy_bars import HEAVY, HeavyParams, heavy_bars
from mockcheck.plan.rehearsal import plan_rehearsal
from mockcheck.plan.spots import choose_spots
from mockcheck.plan.to_read import parts_to_read
from tests.plan.cues import bars_of, demo, review_of


def test_what_is_practised_anyway_is_not_told_twice() -> None:
    review = review_of(
        bars_of("rest run calm rest calm calm calm run"), bars_of("rest run calm", 60, "Violin 2")
    )
    spots = choose_spots(review)
    assert spots
    everything = HeavyParams(load=0.05)
    rows = {row.part: row.bars for row in parts_to_read(review.played.parts, spots, everything)}
    for part in review.played.parts:
        practised = {
            bar
            for spot in spots
            if part.name in {own.part for own in spot.parts}
            for bar in range(spot.first_bar_index, spot.last_bar_index + 1)
        }
        told = {bar.bar_index for bar in rows.get(part.name, ())}
        assert not told & practised
        assert told | practised >= {bar.bar_index for bar in heavy_bars(part, everything)}


def test_a_plan_holds_what_is_to_be_read_and_nothing_lighter() -> None:
    plan = plan_rehearsal(demo())
    assert plan.to_read
    assert all(bar.load >= HEAVY.load for row in plan.to_read for bar in row.bars)
    assert plan_rehearsal(review_of(bars_of("rest calm calm"))).to_read == ()
