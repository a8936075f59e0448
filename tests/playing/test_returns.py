import numpy as np

from mockcheck.playing.returns import Held, return_seconds
from mockcheck.playing.times import MotionTimes, effort_for

TIMES = MotionTimes()
EFFORT = effort_for(328.0)


def on(string: int, stop: int, finger: int) -> Held:
    """One note on a violin: string 0 is the E string."""
    stops, fingers = np.full(4, -1, np.int8), np.zeros(4, np.int8)
    stops[string], fingers[string] = stop, finger
    return Held(stops, fingers)


def seconds(*three: Held, is_bowed: bool = True) -> float:
    before, between, after = three
    return float(return_seconds((before, between, after), TIMES, EFFORT, is_bowed=is_bowed))


def test_a_trill_lifts_the_upper_finger_and_leaves_the_lower_one_down() -> None:
    low, high = on(2, 2, 1), on(2, 4, 2)
    assert seconds(high, low, high) == TIMES.finger_back_s
    assert seconds(low, high, low) == 0


def test_a_finger_relieved_by_another_and_wanted_elsewhere_needs_more() -> None:
    assert seconds(on(2, 2, 1), on(2, 5, 3), on(2, 4, 1)) == TIMES.finger_elsewhere_s
    assert TIMES.finger_elsewhere_s > TIMES.finger_back_s


def test_a_finger_that_stays_on_its_string_while_another_plays_does_not_come_back() -> None:
    assert seconds(on(2, 2, 1), on(1, 4, 2), on(2, 2, 1), is_bowed=False) == 0


def test_a_finger_lying_across_two_strings_does_not_come_back() -> None:
    assert seconds(on(2, 2, 1), on(1, 3, 2), on(1, 2, 1), is_bowed=False) == 0


def test_a_finger_in_use_in_between_is_a_matter_of_single_movements() -> None:
    assert seconds(on(2, 2, 1), on(2, 3, 1), on(2, 4, 1)) == 0


def test_the_bow_that_comes_back_over_more_strings_needs_more_and_a_plucked_one_nothing() -> None:
    g_string, d_string, e_string = on(3, 0, 0), on(2, 0, 0), on(0, 0, 0)
    assert seconds(g_string, d_string, g_string) == TIMES.crossing_back_s
    over_two = TIMES.crossing_back_s + 2 * TIMES.crossing_back_extra_s
    assert seconds(g_string, e_string, g_string) == over_two
    assert seconds(g_string, d_string, e_string) == 0
    assert seconds(g_string, e_string, g_string, is_bowed=False) == 0


def test_many_placements_at_once_give_what_each_gives_alone() -> None:
    sides = [[on(2, 2, 1), on(3, 9, 4)], [on(2, 4, 2), on(1, 0, 0)], [on(2, 5, 1), on(2, 2, 1)]]
    stacked = []
    for axis, side in enumerate(sides):
        shape = [1, 1, 1, 4]
        shape[axis] = 2
        stop, finger = (np.stack([getattr(h, n) for h in side]) for n in ("stop", "finger"))
        stacked.append(Held(stop.reshape(shape), finger.reshape(shape)))
    before, between, after = stacked
    table = return_seconds((before, between, after), TIMES, EFFORT, is_bowed=True)
    for a in range(2):
        for b in range(2):
            for c in range(2):
                assert table[a, b, c] == seconds(sides[0][a], sides[1][b], sides[2][c])
