import pytest

from mockcheck.playing.chords import VERDICTS, chord
from mockcheck.playing.demands import Grade, finger_name
from mockcheck.playing.hand import THUMB


def verdict(instrument: str, *pitches: int) -> str:
    return chord(instrument, pitches).verdict


def test_grades_run_like_the_verdicts() -> None:
    assert [grade.name.lower() for grade in sorted(Grade)] == list(VERDICTS)


def test_fingers_have_the_names_players_use() -> None:
    assert [finger_name(finger) for finger in (THUMB, 1, 2, 3, 4)] == [
        "thumb", "first", "second", "third", "fourth",
    ]  # fmt: skip


@pytest.mark.parametrize("interval", [3, 4, 8, 9])
def test_stopped_thirds_and_sixths_in_low_positions_are_easy_on_the_violin(interval: int) -> None:
    # Forsyth, Orchestration (1914) pp. 316-317: thirds and sixths without open string, quite easy.
    assert verdict("violin", 70, 70 + interval) == "easy"


@pytest.mark.parametrize("interval", [5, 6, 7])
def test_stopped_fourths_and_fifths_are_harder_than_thirds_and_sixths(interval: int) -> None:
    # Forsyth, same pages: fourths are less easy, but playable; a fingering chart on fifths.
    answer = chord("violin", (66, 66 + interval))
    assert answer.verdict == "possible"
    assert "tuning" in answer.reason


@pytest.mark.parametrize("lower", [57, 58, 64])
def test_stopped_octaves_take_the_whole_hand(lower: int) -> None:
    # Octave and ninth are stretches (common practice, no source).
    assert verdict("violin", lower, lower + 12) == "possible"


def test_an_octave_is_a_stretch_even_where_it_is_narrow() -> None:
    high = chord("violin", (77, 89))
    assert high.stretch_mm < 64.0
    assert high.verdict == "possible"


def test_a_strained_stretch_is_left_to_the_player() -> None:
    answer = chord("violin", (57, 72))
    assert answer.verdict == "hard"
    assert "the player decides" in answer.reason
    assert answer.evidence is not None
    assert answer.evidence.unit == "mm"
    # A3 and C5 stand 108.1 mm apart (arithmetic on 328 mm).
    assert answer.evidence.measured == pytest.approx(108.1, abs=0.05)
    assert answer.evidence.limit < answer.evidence.measured


def test_open_strings_with_one_finger_are_easy_up_to_the_octave_of_its_string() -> None:
    assert verdict("violin", 69, 88) == "easy"
    assert verdict("violin", 69, 89) == "possible"


def test_three_notes_are_easy_only_while_every_finger_is_on_the_neck() -> None:
    assert verdict("violin", 55, 62, 78) == "easy"
    assert verdict("violin", 55, 62, 79) == "possible"
    assert "leaves the neck" in chord("violin", (55, 62, 79)).reason


def test_two_stopped_notes_above_the_octave_of_a_low_string_are_hard() -> None:
    assert verdict("violin", 71, 86) == "hard"
    one_finger = chord("violin", (62, 86))
    assert one_finger.verdict == "possible"
    assert "speaks badly" in one_finger.reason or "leaves the neck" in one_finger.reason


def test_beyond_two_octaves_on_a_string_is_hard() -> None:
    assert verdict("violin", 69, 100) == "possible"
    assert verdict("violin", 69, 101) == "hard"


def test_one_finger_on_three_strings_is_hard() -> None:
    answer = chord("violin", (57, 64, 71))
    assert answer.fingers == (1, 1, 1)
    assert answer.verdict == "hard"


def test_the_fourth_finger_on_two_strings_is_hard() -> None:
    # B3 G4 D5 F5: first, third and fourth are left for B, G with D, and F at the nut.
    answer = chord("violin", (59, 67, 74, 77))
    assert (answer.verdict, answer.fingers) == ("hard", (3, 4, 4, 1))
    assert answer.reason == "The fourth finger has to stop two strings at once."


def test_the_thumb_is_never_easy() -> None:
    # Forsyth, Orchestration, cello chapter pp. 411-412: the thumb stops the lower note of octaves.
    for lower in (59, 62, 64):
        answer = chord("cello", (lower, lower + 12))
        assert (answer.verdict, answer.fingers) == ("possible", (THUMB, 3))
        assert answer.reason == "The chord is held in thumb position."


def test_a_chord_that_cannot_be_rolled_in_order_is_hard() -> None:
    # D4 F4 A5: F is only free on the G string, below the open D.
    answer = chord("violin", (62, 65, 81))
    assert answer.verdict == "hard"
    assert "rolled in order" in answer.reason


def test_crossed_strings_are_everyday_in_double_stops() -> None:
    # A open with B on the D string, as in bariolage (common practice, no source).
    answer = chord("violin", (69, 71))
    assert answer.verdict in ("easy", "possible")


def test_the_bass_is_for_two_notes() -> None:
    # From memory: double stops with an open string or inside the hand's frame only.
    assert verdict("double bass", 28, 33) == "easy"
    assert verdict("double bass", 33, 40) == "possible"
    assert verdict("double bass", 28, 33, 38) == "possible"
    assert verdict("double bass", 28, 33, 40) == "hard"
