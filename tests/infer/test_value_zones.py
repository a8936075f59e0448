import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from mockcheck.infer.behaviour import CLASSES, SAYS_NOTHING
from mockcheck.infer.value_zones import WIDTHS, find_zones, vote_for_width, weigh_widths

NO_VOTES = np.zeros(len(WIDTHS))
NOTES_EACH = 6
Written = tuple[NDArray[np.int64], NDArray[np.int8], NDArray[np.int64]]


def written(values: list[int], behaviours: list[int]) -> Written:
    """Segments of six notes that all behave in one way."""
    segment = np.repeat(np.arange(len(values)), NOTES_EACH)
    return np.array(values), np.array(behaviours, np.int8)[segment], segment


def wandering(width: int, meanings: int, segments: int, seed: int = 1) -> Written:
    chance = np.random.default_rng(seed)
    meaning = chance.integers(meanings, size=segments)
    value = meaning * width + chance.integers(width, size=segments)
    return written(value.tolist(), (2 * meaning % CLASSES).tolist())


def test_values_that_return_stand_for_themselves() -> None:
    zones = find_zones(*written([4, 13, 22, 4, 13, 22, 4, 13], [0, 3, 7] * 2 + [0, 3]), NO_VOTES)
    assert (zones.low.tolist(), zones.high.tolist()) == ([4, 13, 22], [4, 13, 22])
    assert zones.of_segment.tolist() == [0, 1, 2, 0, 1, 2, 0, 1]
    assert zones.log_odds > 0
    assert zones.sureness > 0.9


@pytest.mark.parametrize("width", [9, 16])
def test_values_that_wander_within_zones_are_taken_together(width: int) -> None:
    zones = find_zones(*wandering(width, 4, 60), NO_VOTES)
    assert zones.low.tolist() == [0, width, 2 * width, 3 * width]
    assert zones.high.tolist() == [width - 1, 2 * width - 1, 3 * width - 1, 4 * width - 1]
    assert zones.sureness > 0.8


def test_few_wandering_values_are_not_sure_until_other_tracks_vote() -> None:
    few = wandering(9, 5, 12, seed=3)
    many = vote_for_width(weigh_widths(*wandering(9, 4, 80, seed=4)))
    alone, together = find_zones(*few, NO_VOTES), find_zones(*few, many)
    assert together.sureness > alone.sureness
    assert set(together.low.tolist()) <= {0, 9, 18, 27, 36}


def test_a_track_whose_values_return_votes_for_no_width() -> None:
    assert vote_for_width(weigh_widths(*written([4, 40] * 10, [0, 7] * 10))).max() == 0


def test_votes_do_not_widen_values_that_return() -> None:
    votes = vote_for_width(weigh_widths(*wandering(9, 4, 80)))
    zones = find_zones(*written([5, 14, 70] * 6, [0, 4, 7] * 6), votes)
    assert zones.low.tolist() == zones.high.tolist() == [5, 14, 70]


def test_values_that_tell_nothing_and_never_return_speak_against_switches() -> None:
    values = np.random.default_rng(2).permutation(128)[:20].tolist()
    zones = find_zones(*written(values, [3] * 20), NO_VOTES)
    assert zones.log_odds < 1


def test_programs_stand_for_themselves() -> None:
    zones = find_zones(*wandering(9, 4, 60))
    assert np.array_equal(zones.low, zones.high)


@given(st.lists(st.integers(0, 127), min_size=2, max_size=12))
def test_every_value_lies_in_its_zone(values: list[int]) -> None:
    behaviour = np.full(len(values), SAYS_NOTHING, np.int8)
    zones = find_zones(np.array(values), behaviour, np.arange(len(values)), NO_VOTES)
    assert np.all(zones.low[zones.of_segment] <= values)
    assert np.all(values <= zones.high[zones.of_segment])
    assert np.all(zones.high[:-1] < zones.low[1:])
    assert 0 < zones.sureness <= 1 + 1e-9
