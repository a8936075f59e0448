import numpy as np
import pytest

from mockcheck.infer.stroke_certainty import HEARD_AT_MOST, SHOWN_BY_TIMING, SUREST, share_right
from mockcheck.infer.stroke_signs import HEARD


def certain_of(stroke: str) -> np.ndarray:
    return np.array([[name == stroke for name in HEARD]], np.float64)


@pytest.mark.parametrize("stroke", HEARD)
def test_no_stroke_is_surer_than_such_answers_were_right(stroke: str) -> None:
    assert share_right(certain_of(stroke), np.array([False])) == [SUREST[stroke]]
    assert SUREST[stroke] <= HEARD_AT_MOST < 1


def test_a_doubtful_answer_is_as_sure_as_its_chance() -> None:
    doubtful = 0.55 * certain_of("legato") + 0.45 * certain_of("detache")
    assert share_right(doubtful, np.array([False])) == pytest.approx([0.55])


def test_a_switch_nobody_names_may_mean_what_timing_does_not_show() -> None:
    both = np.concatenate([certain_of("legato")] * 2)
    plain, hidden = share_right(both, np.array([False, True]))
    assert hidden == pytest.approx(SHOWN_BY_TIMING * plain)
    # Eight of the fourteen articulations of the trade.
    assert pytest.approx(8 / 14) == SHOWN_BY_TIMING
