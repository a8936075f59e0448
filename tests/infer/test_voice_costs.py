import numpy as np
import pytest

from mockcheck.infer.voice_costs import VOICE, VoiceCosts
from mockcheck.model.notes import Notes
from tests.infer.tracks import Row, notes_of
from tests.infer.voice_tracks import hear


def costs_of(*rows: Row, velocities: tuple[int, ...] = ()) -> VoiceCosts:
    notes: Notes = notes_of(*rows)
    if velocities:
        object.__setattr__(notes, "velocity", np.array(velocities, np.uint8))
    heard = hear(notes)
    return VoiceCosts(heard.notes, heard.ends, heard.texture)


def test_the_same_note_again_costs_nothing() -> None:
    assert costs_of((60, 0, 1), (60, 1, 2)).join(0, 1, 1, 0) == 0


def test_a_leap_costs_more_than_a_step_and_two_leaps_more_than_one_as_wide() -> None:
    step, leap, wide = (
        costs_of((60, 0, 1), (60 + rise, 1, 2)).join(0, 1, 1, 0) for rise in (2, 5, 10)
    )
    assert 0 < step < leap < wide < 2 * leap


def test_a_rest_costs_and_a_longer_one_more_up_to_a_limit() -> None:
    prices = [costs_of((60, 0, 1), (60, 1 + rest, 2 + rest)).join(0, 1, 1, 0) for rest in
              (0.04, 0.06, 2, 30, 300)]  # fmt: skip
    assert prices[0] == 0
    assert prices[0] < prices[1] < prices[2] < prices[3] == prices[4]


def test_onsets_of_others_meanwhile_cost_only_in_a_rest() -> None:
    rested, at_once = costs_of((60, 0, 1), (60, 2, 3)), costs_of((60, 0, 1), (60, 1, 2))
    assert rested.join(0, 1, 1, 3) - rested.join(0, 1, 1, 0) == pytest.approx(
        3 * VOICE.rest_per_onset
    )
    assert at_once.join(0, 1, 1, 3) == at_once.join(0, 1, 1, 0)


def test_lengths_and_loudness_change_at_a_price() -> None:
    even, uneven = costs_of((60, 0, 1), (60, 1, 2)), costs_of((60, 0, 1), (60, 1, 5))
    assert uneven.join(0, 1, 1, 0) > even.join(0, 1, 1, 0)
    costs = costs_of((60, 0, 1), (60, 1, 2), velocities=(80, 100))
    assert costs.loudness(80.0, 1) == pytest.approx(20 * VOICE.velocity)
    assert costs.loudness(0.0, 1) == VOICE.most_velocity
    assert costs.loudness_after(80.0, 1) == pytest.approx(80 + 20 * VOICE.memory)
    assert costs.loudness_after(0.0, 1) == 100


def test_a_line_on_the_wrong_side_is_a_crossing() -> None:
    costs = costs_of((60, 0, 4), (72, 1, 2), (60, 2, 3))
    # Line 1 holds the first note; the second is above it, and below it would be a crossing.
    assert costs.crossings(0, 1, (-1, 0), [1]) == 0
    assert costs.crossings(0, 1, (0, -1), [0]) == 0
    assert costs.crossings(1, 1, (0, -1), [0]) == VOICE.crossing
    assert costs.crossings(1, 2, (0, -1), [0]) == 0


def test_a_line_lies_where_it_is_when_all_sound() -> None:
    rows = [(pitch, n, n + 1) for n in range(20) for pitch in (60, 72)]
    costs = costs_of(*rows, (71, 20, 21))
    assert costs.place(0, 40, 20) < costs.place(1, 40, 20) < costs.place(2, 40, 20)
    assert costs.place(2, 40, 20) >= VOICE.unusual_line
