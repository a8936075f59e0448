from mockcheck.plan.heavy_bars import HeavyParams, heavy_bars
from tests.plan.cues import bars_of, review_of


def test_a_bar_is_heavy_by_its_reading_load_and_says_why() -> None:
    part = review_of(bars_of("rest run calm", q=60)).played.parts[0]
    assert part.reading is not None
    heaviest = float(part.reading.load.max())
    (bar,) = heavy_bars(part, HeavyParams(load=heaviest))
    assert (bar.bar_index, bar.load) == (1, heaviest)
    assert bar.reasons
    assert heavy_bars(part, HeavyParams(load=1.0)) == ()
