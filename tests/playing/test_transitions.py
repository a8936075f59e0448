import numpy as np

from mockcheck.instruments import instrument
from mockcheck.playing.fingerboard import fingerboard
from mockcheck.playing.hand import hand_for
from mockcheck.playing.motion import bow_seconds, left_hand_seconds
from mockcheck.playing.placements import placements
from mockcheck.playing.times import MotionTimes, effort_for
from mockcheck.playing.transitions import NEVER_S, Pair, transition_tables

BOARD = fingerboard(instrument("violin"))
HAND = hand_for(BOARD.string_length_mm)
TIMES = MotionTimes()


def test_a_table_holds_the_slower_of_hand_and_bow() -> None:
    pairs = [Pair((64,), (71,), "separate"), Pair((62, 69), (64,), "slurred")]
    tables = transition_tables(BOARD, HAND, pairs, TIMES)
    effort = effort_for(BOARD.string_length_mm)
    for row, pair in enumerate(pairs):
        before, after = (placements(BOARD, HAND, side) for side in (pair.before, pair.after))
        slower = np.maximum(
            left_hand_seconds(before, after, TIMES, effort),
            bow_seconds(before, after, TIMES, effort, pair.stroke),
        )
        block = tables.seconds[row, : len(before), : len(after)]
        assert np.allclose(block, slower)
        assert (tables.seconds[row, len(before) :] == NEVER_S).all()
        assert (tables.seconds[row, :, len(after) :] == NEVER_S).all()


def test_the_order_of_pairs_does_not_matter() -> None:
    pairs = [
        Pair((64,), (71,), "separate"),
        Pair((55,), (57,), "slurred"),
        Pair((64,), (66,), "slurred"),
    ]
    forward = transition_tables(BOARD, HAND, pairs, TIMES)
    backward = transition_tables(BOARD, HAND, pairs[::-1], TIMES)
    assert np.array_equal(forward.seconds, backward.seconds[::-1])
    assert np.array_equal(forward.unease, backward.unease[::-1])


def test_a_note_nobody_can_take_is_never_reached() -> None:
    tables = transition_tables(BOARD, HAND, [Pair((64,), (50,), "separate")], TIMES)
    assert (tables.seconds == NEVER_S).all()


def test_staying_is_more_comfortable_than_shifting() -> None:
    tables = transition_tables(BOARD, HAND, [Pair((69,), (71,), "slurred")], TIMES)
    before, after = placements(BOARD, HAND, (69,)), placements(BOARD, HAND, (71,))
    still = np.isclose(before.hand_mm[:, None], after.hand_mm)
    block = tables.unease[0, : len(before), : len(after)]
    assert block[still].min() < block[~still].min()
