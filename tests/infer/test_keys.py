import numpy as np
import pytest
from numpy.typing import NDArray

from mockcheck.infer.keys import KeyAreas, find_keys, judge_signatures

DEGREES = np.array([0, 2, 4, -1, 1, 3, 5, 0, 1, 4, 0])


def scales(key: int, times: int = 8) -> NDArray[np.int64]:
    return np.tile(60 + 7 * (key + DEGREES) % 12, times)


def quarters(pitch: NDArray[np.int64]) -> NDArray[np.float64]:
    return np.arange(len(pitch)) / 2


@pytest.mark.parametrize("key", range(-5, 7))
def test_the_key_of_plain_scales_is_heard(key: int) -> None:
    pitch = scales(key)
    areas = find_keys(quarters(pitch), pitch)
    # Six sharps and six flats sound the same.
    assert (areas.fifths % 12).tolist() == [key % 12]
    assert areas.from_quarters.tolist() == [0]


def test_a_change_of_key_is_heard_where_it_comes() -> None:
    pitch = np.concatenate([scales(0), scales(4)])
    areas = find_keys(quarters(pitch), pitch)
    assert areas.fifths.tolist() == [0, 4]
    assert areas.from_quarters[1] == pytest.approx(44, abs=4)


def test_one_passing_chord_is_no_change_of_key() -> None:
    pitch = np.concatenate([scales(0), [68, 72, 75], scales(0)])
    assert find_keys(quarters(pitch), pitch).fifths.tolist() == [0]


@pytest.mark.parametrize(("key", "is_believed"), [(4, True), (0, False), (-3, False)])
def test_a_signature_is_believed_only_as_far_as_the_notes_allow(
    key: int, is_believed: bool
) -> None:
    pitch = scales(4)
    (judged,) = judge_signatures(quarters(pitch), pitch, [(0.0, key)])
    assert judged.is_believed is is_believed
    assert judged.better_fifths == 4
    areas = find_keys(quarters(pitch), pitch, [judged])
    assert areas.fifths.tolist() == [key if judged.is_believed else 4]


def test_a_few_notes_say_nothing_against_a_signature() -> None:
    pitch = scales(4, times=1)
    (judged,) = judge_signatures(quarters(pitch), pitch, [(0.0, -4)])
    assert judged.gain > 0.1
    assert judged.is_believed


def test_each_signature_is_judged_by_the_notes_under_it() -> None:
    pitch = np.concatenate([scales(0), scales(4), scales(-3)])
    third = len(pitch) / 6
    judged = judge_signatures(quarters(pitch), pitch, [(0.0, 0), (third, 0), (2 * third, -3)])
    assert [one.is_believed for one in judged] == [True, False, True]
    areas = find_keys(quarters(pitch), pitch, judged)
    assert areas.at(np.array([1.0, third + 8, 2 * third + 1])).tolist() == [0, 4, -3]


def test_no_notes_have_no_key() -> None:
    empty = np.empty(0, np.int64)
    assert find_keys(np.empty(0), empty).fifths.tolist() == [0]
    (judged,) = judge_signatures(np.empty(0), empty, [(0.0, 3)])
    assert judged.is_believed


def test_an_area_holds_from_its_first_tick() -> None:
    areas = KeyAreas(np.array([0.0, 8.0]), np.array([1, -2]))
    assert areas.at(np.array([-1.0, 0.0, 7.99, 8.0, 20.0])).tolist() == [1, 1, 1, -2, -2]


def test_keys_are_heard_in_the_same_pieces_wherever_the_music_stands() -> None:
    # Thirds of a quarter round differently at another place; a window must not.
    chance = np.random.default_rng(1)
    for _ in range(20):
        pitch = chance.integers(55, 84, 240)
        ticks = np.sort(chance.integers(0, 400, 240)) * 160
        for later in (480, 3 * 1440, 100 * 1920 + 160):
            here, there = (find_keys((ticks + shift) / 480, pitch) for shift in (0, later))
            assert here.fifths.tolist() == there.fifths.tolist()
            moved = there.from_quarters[1:] - later / 480
            assert np.allclose(moved, here.from_quarters[1:])
