from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mockcheck.infer.dynamic_spans import DynamicSpan, dynamic_spans
from mockcheck.model.played import PlayedPart
from tests.checks.hands import by_hand
from tests.phrases import phrase


def spans(part: PlayedPart) -> list[DynamicSpan]:
    (curve,) = part.dynamics
    return list(dynamic_spans(part, curve))


def words(bars: str) -> list[str]:
    return [span.words for span in spans(phrase(f"violin 4/4 q=60 | {bars}"))]


def ramp(first: int, last: int) -> str:
    """A bar of one note under a straight line."""
    points = [(1 + step / 4, first + (last - first) * step / 16) for step in range(16)]
    drawn = " ".join(f"cc11@{beat}={round(value)}" for beat, value in points)
    return f"{drawn} A4:4 |"


def level(value: int) -> str:
    return f"cc11@1={value} A4:4 |"


def test_one_dynamic_is_one_word() -> None:
    assert words("C5:4 | D5:4 |") == ["mf"]


def test_a_new_dynamic_is_another_word_without_a_hairpin() -> None:
    assert words(" ".join([level(50)] * 3 + [level(96)] * 3)) == ["p", "f"]


def test_a_hairpin_joins_two() -> None:
    music = " ".join([level(50), level(50), ramp(50, 73), ramp(73, 96), level(96), level(96)])
    assert words(music) == ["p", "p, crescendo to f", "f"]
    assert words(" ".join([level(96), ramp(96, 50), level(50)])) == ["f", "f, diminuendo to p", "p"]


def test_places_are_those_of_the_music() -> None:
    part = phrase(f"violin 4/4 q=60 | {level(50)} {level(50)} {ramp(50, 96)} {level(96)}")
    held, rising, loud = spans(part)
    assert held.onset_ticks == 0
    assert part.locate(rising.onset_ticks).bar in (2, 3)
    assert (rising.onset_s, rising.release_s) == pytest.approx((8, 12), abs=0.8)
    assert rising.onset_ticks == pytest.approx(480 * rising.onset_s, abs=1)
    assert loud.release_s == pytest.approx(15.6)


def test_a_swell_within_one_dynamic_says_which_way() -> None:
    assert words(ramp(90, 104)) == ["f, crescendo"]


def test_one_accent_is_no_dynamic() -> None:
    assert words("v60 C5:1 D5:1 v110 E5:0.5 v60 F5:1.5 | C5:4 |") == ["mp"]


def test_the_weight_of_a_hand_changes_no_dynamic() -> None:
    bars = "v96 " + "C5:1 D5:1 E5:1 F5:1 | " * 6
    score = by_hand(f"violin 4/4 q=80 | {bars}", touch=3, late_ms=15)
    assert [span.words for span in spans(score.parts[0])] == ["f"]


@given(st.lists(st.integers(20, 120), min_size=1, max_size=6))
@settings(max_examples=25)
def test_spans_follow_each_other_from_beginning_to_end(levels: list[int]) -> None:
    part = phrase(f"violin 4/4 q=60 | {' '.join(level(value) for value in levels)}")
    found = spans(part)
    assert found[0].onset_ticks == 0
    assert found[-1].release_s == pytest.approx(float(part.notes.release_s.max()))
    for before, after in pairwise(found):
        assert before.release_s == after.onset_s
        assert after.onset_s < after.release_s
    values = np.array([(span.from_loudness, span.to_loudness) for span in found])
    assert values.min() >= min(*levels, 80) - 1
    assert values.max() <= max(*levels, 80) + 1


def test_a_crescendo_that_quickens_is_still_one() -> None:
    music = " ".join([level(40), ramp(40, 46), ramp(46, 52), ramp(52, 108), level(108)])
    found = words(music)
    assert found[-2:] == ["pp, crescendo to ff", "ff"]
    assert sum("crescendo" in mark for mark in found) == 1


def test_restless_values_a_little_apart_are_one_dynamic() -> None:
    values = [76, 60, 66, 76, 56, 70, 60, 66, 66, 70, 60, 63]
    drawn = " ".join(f"cc11@{1 + 0.75 * place}={value}" for place, value in enumerate(values))
    # A second of unrest around a dynamic is no new one: a dozen values, six marks.
    assert words(f"{drawn} A4:24 |")[1::4] == ["mp", "mp"]
