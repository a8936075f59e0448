import csv
from pathlib import Path

import pytest

from mockcheck.playing.fingerboard import stop_places_mm
from mockcheck.playing.hand import (
    BASS_HAND,
    CELLO_HAND,
    THUMB,
    VIOLA_HAND,
    VIOLIN_HAND,
    Hand,
    hand_for,
)

SPANS = Path(__file__).parent.parent.parent / "fixtures" / "reference" / "hand_spans.csv"
HANDS = {328.0: VIOLIN_HAND, 375.0: VIOLA_HAND, 690.0: CELLO_HAND, 1060.0: BASS_HAND}


def printed_mm(instrument: str, notes: int, column: str) -> float:
    with SPANS.open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            if (row["instrument"], row["notes_in_chord"]) == (instrument, str(notes)):
                return float(row[column])
    raise AssertionError


def stretch_mm(string_length_mm: float, low: int, high: int) -> float:
    places = stop_places_mm(string_length_mm)
    return places[high] - places[low]


def test_nine_printed_chords_in_ten_lie_easily() -> None:
    # Percentiles of printed chords, OpenScore String Quartets (fixtures/reference/SOURCES.md).
    assert VIOLIN_HAND.easy_two_mm == pytest.approx(
        printed_mm("violin", 2, "natural_p90_mm"), abs=0.5
    )
    assert VIOLIN_HAND.easy_more_mm == pytest.approx(
        printed_mm("violin", 3, "natural_p90_mm"), abs=0.5
    )
    assert CELLO_HAND.easy_two_mm == pytest.approx(
        printed_mm("cello", 2, "natural_p90_mm"), abs=0.5
    )
    assert CELLO_HAND.easy_more_mm == pytest.approx(
        printed_mm("cello", 3, "natural_p90_mm"), abs=0.5
    )


def test_99_printed_chords_in_100_are_comfortable_on_the_violin() -> None:
    assert VIOLIN_HAND.comfortable_mm[-1] == pytest.approx(
        printed_mm("violin", 2, "natural_p99_mm"), abs=0.5
    )


@pytest.mark.parametrize(
    ("string_length_mm", "low", "high", "limit_mm"),
    [
        (328.0, 1, 7, VIOLIN_HAND.widest_mm[-1]),
        (375.0, 1, 7, VIOLA_HAND.widest_mm[-1]),
        (328.0, 1, 9, VIOLIN_HAND.tenth_mm),
        (375.0, 1, 9, VIOLA_HAND.tenth_mm),
        (690.0, 1, 4, CELLO_HAND.comfortable_mm[-1]),
        (690.0, 1, 3, CELLO_HAND.comfortable_mm[1]),
        (690.0, 1, 2, CELLO_HAND.comfortable_mm[0]),
        (690.0, 1, 6, CELLO_HAND.widest_mm[-1]),
        (1060.0, 1, 2, BASS_HAND.comfortable_mm[0]),
        (1060.0, 1, 3, BASS_HAND.comfortable_mm[-1]),
        (1060.0, 1, 4, BASS_HAND.widest_mm[-1]),
    ],
)
def test_limits_are_musical_frames_in_half_position(
    string_length_mm: float, low: int, high: int, limit_mm: float
) -> None:
    # The frames are common practice: closed cello hand a minor third, bass hand a whole tone.
    frame_mm = stretch_mm(string_length_mm, low, high)
    assert frame_mm <= limit_mm < frame_mm + 2.0


def test_the_thumb_frame_is_an_octave_at_the_heel_of_the_neck() -> None:
    thumb = CELLO_HAND.thumb
    assert thumb is not None
    frame_mm = stretch_mm(690.0, thumb.from_semitones, thumb.from_semitones + 5)
    assert frame_mm <= CELLO_HAND.comfortable_reach_mm(THUMB, 3) < frame_mm + 2.0


@pytest.mark.parametrize("hand", HANDS.values())
def test_further_fingers_reach_further_and_an_open_hand_furthest(hand: Hand) -> None:
    for comfortable_mm, widest_mm in zip(hand.comfortable_mm, hand.widest_mm, strict=True):
        assert comfortable_mm < widest_mm
    assert list(hand.comfortable_mm) == sorted(hand.comfortable_mm)
    assert list(hand.widest_mm) == sorted(hand.widest_mm)
    assert hand.easy_more_mm <= hand.easy_two_mm <= hand.comfortable_mm[-1]
    assert hand.tenth_mm >= hand.widest_mm[-1]


def test_the_little_finger_opens_furthest_on_the_higher_string() -> None:
    across = VIOLIN_HAND.widest_reach_mm(1, 4, is_as_in_a_tenth=True)
    assert across > VIOLIN_HAND.widest_reach_mm(1, 4, is_as_in_a_tenth=False)
    inner = VIOLIN_HAND.widest_reach_mm(1, 3, is_as_in_a_tenth=True)
    assert inner == VIOLIN_HAND.widest_reach_mm(1, 3, is_as_in_a_tenth=False)


def test_the_third_finger_of_a_bass_player_only_helps_the_fourth() -> None:
    assert BASS_HAND.steps(2, 4) == 1
    assert BASS_HAND.steps(1, 4) == 2
    # In thumb position the third finger plays, beside the second.
    assert BASS_HAND.steps(2, 3) == 1
    assert BASS_HAND.steps(THUMB, 3) == 3
    assert BASS_HAND.widest_reach_mm(THUMB, 3, is_as_in_a_tenth=True) == 150.0


@pytest.mark.parametrize(("string_length_mm", "hand"), HANDS.items())
@pytest.mark.parametrize("share", [0.96, 1.0, 1.05])
def test_the_hand_follows_the_size_of_the_instrument(
    string_length_mm: float, hand: Hand, share: float
) -> None:
    # Makers' sizes (fixtures: instruments): violin 320-335, viola 355-395, cello 680-700 mm.
    assert hand_for(string_length_mm * share) is hand
