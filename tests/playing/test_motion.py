import numpy as np

from mockcheck.instruments import instrument
from mockcheck.playing.fingerboard import fingerboard
from mockcheck.playing.hand import hand_for
from mockcheck.playing.motion import bow_seconds, crossing_strings, left_hand_seconds
from mockcheck.playing.placements import Placements, placements
from mockcheck.playing.times import MotionTimes, effort_for

VIOLIN = fingerboard(instrument("violin"))
HAND = hand_for(VIOLIN.string_length_mm)
TIMES = MotionTimes()
EFFORT = effort_for(VIOLIN.string_length_mm)


def one(pitch: int, string: int, finger: int, place: int) -> Placements:
    """The placement of one note by string, finger and semitones under the first finger."""
    found = placements(VIOLIN, HAND, (pitch,))
    place_mm = VIOLIN.places_mm[place]
    rows = (
        (found.stop[:, string] >= 0)
        & (found.finger[:, string] == finger)
        & np.isclose(found.hand_mm, place_mm)
    )
    row = int(np.flatnonzero(rows)[0])
    return Placements(
        *(getattr(found, name)[row : row + 1] for name in Placements.__dataclass_fields__)
    )


def hand_s(before: Placements, after: Placements) -> float:
    return float(left_hand_seconds(before, after, TIMES, EFFORT)[0, 0])


E4, F4, FS4, A4_OPEN = one(64, 2, 1, 2), one(65, 2, 2, 2), one(66, 2, 2, 2), one(69, 1, 0, 2)
B4 = one(71, 1, 1, 2)


def test_a_finger_that_stays_needs_no_time() -> None:
    assert hand_s(E4, E4) == 0


def test_another_finger_is_quicker_than_the_same_finger_elsewhere() -> None:
    assert hand_s(E4, FS4) == TIMES.finger_s
    assert hand_s(F4, FS4) == TIMES.same_finger_s > TIMES.finger_s


def test_one_finger_rolls_over_to_the_next_string_more_quickly_than_it_jumps() -> None:
    assert hand_s(E4, B4) == TIMES.bar_s < TIMES.same_finger_s


def test_lifting_to_an_open_string_is_quickest() -> None:
    assert hand_s(one(71, 1, 1, 2), A4_OPEN) == TIMES.lift_s


def test_a_shift_grows_with_its_distance() -> None:
    # P. Fitts (1954): movement time grows with the logarithm of distance.
    home = one(71, 1, 1, 2)
    near, far = one(74, 1, 1, 5), one(81, 1, 1, 12)
    assert TIMES.shift_s < hand_s(home, near) < hand_s(home, far)
    assert hand_s(A4_OPEN, near) < hand_s(home, near)  # nothing has to sound until it leaves


def test_the_bow_takes_longer_over_more_strings_and_for_a_new_stroke() -> None:
    g_string, d_string, e_string = one(57, 3, 1, 2), E4, one(78, 0, 1, 2)
    assert crossing_strings(g_string, e_string).tolist() == [[3]]

    def bow_s(after: Placements, stroke: str) -> float:
        return float(bow_seconds(g_string, after, TIMES, EFFORT, stroke)[0, 0])

    assert bow_s(g_string, "slurred") < bow_s(d_string, "slurred") < bow_s(e_string, "slurred")
    assert bow_s(d_string, "slurred") < bow_s(d_string, "repeated") < bow_s(d_string, "separate")


def test_a_free_finger_stands_ready_on_a_string_that_is_silent() -> None:
    # Two fingers of a double stop come down together only where both strings have just sounded.
    def double(pitches: tuple[int, int]) -> Placements:
        found = placements(VIOLIN, HAND, pitches)
        rows = (found.finger[:, 1] == 3) & (found.finger[:, 2] == 2)
        row = int(np.flatnonzero(rows & np.isclose(found.hand_mm, VIOLIN.places_mm[2]))[0])
        return Placements(
            *(getattr(found, name)[row : row + 1] for name in Placements.__dataclass_fields__)
        )

    f_and_d = double((65, 74))
    assert hand_s(E4, f_and_d) == TIMES.one_of_two_s
    both_sound = placements(VIOLIN, HAND, (64, 69))
    chosen = (both_sound.finger[:, 2] == 1) & (both_sound.stop[:, 1] == 0)
    row = int(np.flatnonzero(chosen & np.isclose(both_sound.hand_mm, VIOLIN.places_mm[2]))[0])
    sixth = Placements(
        *(getattr(both_sound, name)[row : row + 1] for name in Placements.__dataclass_fields__)
    )
    assert hand_s(sixth, f_and_d) == TIMES.two_fingers_s
    # A finger that has just been needed on another string cannot stand there already.
    third_finger = one(67, 2, 3, 2)
    assert hand_s(third_finger, f_and_d) == TIMES.two_fingers_s
