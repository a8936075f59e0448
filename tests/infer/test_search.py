import numpy as np
import pytest

from mockcheck.infer.search import BORROWED_SHARE, Line
from tests.infer.searching import search_of


def test_an_event_nobody_can_hold_is_refused() -> None:
    with pytest.raises(ValueError, match="divide"):
        search_of([(55, 57), (60,)], 0.1)


def test_a_short_gap_borrows_from_a_longer_neighbour_and_never_from_a_shorter_one() -> None:
    line = Line([(69,)] * 4, np.array([0.0, 0.1, 0.5, 0.6]), ["slurred"] * 4)
    assert line.gap_s == pytest.approx(
        [0.1 + BORROWED_SHARE * 0.3, 0.4, 0.1 + BORROWED_SHARE * 0.3]
    )


def test_a_part_of_a_search_keeps_its_events_and_tables() -> None:
    whole = search_of([69, 71, 69, 72, 71], 0.1)
    part = whole.part_of(1, 3)
    assert part.line.events == [(71,), (69,), (72,)]
    assert part.pair.tolist() == whole.pair[1:3].tolist()
    assert part.kind.tolist() == whole.kind[1:4].tolist()


def test_plucked_events_are_not_bowed() -> None:
    assert search_of([69, 71], 0.1, "free").is_bowed.tolist() == [False, False]
    assert search_of([69, 71], 0.1, "separate").is_bowed.tolist() == [True, True]
